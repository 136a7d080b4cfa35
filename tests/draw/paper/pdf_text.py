"""The text of a PDF, as a reader of the page sees it: Poppler reads it back, which shares no code with us."""

import subprocess


def pdf_text(content):
    """Lines of all pages in their layout, a form feed after each page."""
    command = ["pdftotext", "-layout", "-", "-"]
    return subprocess.run(command, input=content, capture_output=True, check=True).stdout.decode("utf-8")
