"""Folders of anything: structured and byte by byte, for as long as one likes."""
