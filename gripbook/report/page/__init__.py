"""An executed notebook as one HTML page that needs no network: text, tables, pictures, no code."""

from gripbook.report.page.exporter import PageError, PageExporter, load_exporter, to_page

__all__ = ["PageError", "PageExporter", "load_exporter", "to_page"]
