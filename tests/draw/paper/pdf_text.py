"""The text of a PDF, as a reader of the page sees it: an independent library reads it back."""

import io

from pypdf import PdfReader


def pdf_text(content):
    """Lines of all pages in their layout, a form feed after each page."""
    pages = PdfReader(io.BytesIO(content)).pages
    return "".join(page.extract_text(extraction_mode="layout") + "\f" for page in pages)
