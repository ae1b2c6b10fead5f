"""Hide the machine's fonts from a browser, to see a page as a bare machine shows it."""

from __future__ import annotations

import tempfile
from pathlib import Path

FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts")


def only_fonts(pattern: str) -> Path:
    """
    Write a fontconfig file under which programs see only the font files of this name.

    Parameters
    ----------
    pattern : of a file's name, such as `DejaVu*`.

    Raises
    ------
    FileNotFoundError : no such font is installed, so that a browser would see none at all.
    """
    if not any(True for folder in FOLDERS for _ in Path(folder).rglob(pattern)):
        raise FileNotFoundError(f"No font file {pattern} in {' or '.join(FOLDERS)}.")
    folder = Path(tempfile.mkdtemp(prefix="only-fonts-"))
    file = folder / "fonts.conf"
    places = "".join(f"<dir>{place}</dir>" for place in FOLDERS)
    # the rest as the system sets it: how type is drawn decides on its width as well
    places = f'<include ignore_missing="yes">/etc/fonts/fonts.conf</include>{places}'
    file.write_text(
        '<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd">\n'
        f"<fontconfig>{places}<cachedir>{folder}</cachedir><selectfont>"
        # what is accepted is taken back; a folder (without a dot) must not be rejected
        f"<rejectfont><glob>*.*</glob></rejectfont><acceptfont><glob>*/{pattern}</glob></acceptfont>"
        "</selectfont></fontconfig>\n",
        encoding="utf-8",
    )
    return file
