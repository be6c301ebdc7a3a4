"""A page as a PDF file, by the library of the optional extra."""

from __future__ import annotations

from backreef.errors import Fault, InputFaults

PAPERS = {"a4": "A4", "letter": "letter"}


def pdf_of(html: str, *, paper: str) -> bytes:
    """The document printed on a paper ('A4' or 'Letter').

    Raises
    ------
    InputFaults
        Where the library is not installed, or the system lacks what it needs.
    """
    try:
        from weasyprint import CSS, HTML
    except (ImportError, OSError) as missing:
        words = (
            f"cannot be written here ({missing}); install the extra with: pip install 'backreef[pdf]', or "
            "write --html and print that from a browser"
        )
        raise InputFaults([Fault(file="--pdf", line=None, key="", message=words)]) from None
    size = CSS(string=f"@page {{ size: {PAPERS[paper.lower()]} portrait; }}")
    return bytes(HTML(string=html).write_pdf(stylesheets=[size]))
