"""A PDF as a reader of the page sees it: PDFium reads it back, which shares no code with what wrote it."""

import numpy as np
import pypdfium2

POINTS_PER_INCH = 72.0


def pdf_text(content):
    """The words of all pages, a form feed after each page."""
    with pypdfium2.PdfDocument(content) as document:
        return "".join(page.get_textpage().get_text_range().replace("\r\n", "\n") + "\f" for page in document)


def pdf_ink(content, dpi):
    """Darkness of the first page as it is drawn, in [0, 1]."""
    with pypdfium2.PdfDocument(content) as document:
        drawn = document[0].render(scale=dpi / POINTS_PER_INCH, grayscale=True).to_numpy()
        return 1.0 - np.squeeze(drawn) / 255.0
