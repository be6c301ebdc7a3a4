"""What is written down when something fails: never an address that lets somebody in."""

from __future__ import annotations

import logging
import re

_SECRET = re.compile(r"/(sign-in|sheet|feed|invitation)/[^/\s'\"]{8,}")


def without_secrets(text: str) -> str:
    """The text with the secret part of addresses left out."""
    return _SECRET.sub(r"/\1/...", text)


class NoSecrets(logging.Filter):
    """Leaves secret parts of addresses out of what is logged."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Rewrite a record; it is always kept."""
        record.msg = without_secrets(record.getMessage())
        record.args = ()
        return True
