"""Brings the translations up to date: new words into `django.po` and `said.po`, and `.mo` files from them.

    .venv-dev/bin/python -m scripts.write_translations

`django.po` is what the page says of its own, `said.po` what the rooms say (`scripts/said_words.py` finds it).
Words that are no longer said are left out. What is not translated yet stands there with an empty answer;
how much of each file has one is counted at the end. All files come out the same on every machine.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from backreef.tongue.forms import BLANK
from scripts.said_words import sentences

ROOT = Path(__file__).parents[1]
WEB = ROOT / "src" / "backreef" / "web"
LOCALES = {"django": WEB / "locale", "said": ROOT / "src" / "backreef" / "tongue" / "locale"}
"""Where the files stand, by the name that they have there."""
DOMAINS = tuple(LOCALES)
KEYWORDS = {
    "_": None,
    "_lazy": None,
    "gettext": None,
    "gettext_lazy": None,
    "ngettext": (1, 2),
    "pgettext": ((1, "c"), 2),
    "npgettext": ((1, "c"), 2, 3),
}
_WRITTEN = datetime(2026, 11, 29, tzinfo=UTC)
"""A file that says when it was made differs each time; this one never does."""


def languages() -> tuple[str, ...]:
    """The languages that there are files for."""
    return tuple(sorted(path.name for path in LOCALES["django"].iterdir() if path.is_dir()))


def said(domain: str = "django") -> Catalog:
    """Everything that the page says of its own, or that the rooms say."""
    return _of_the_page() if domain == "django" else _of_the_rooms()


def _of_the_rooms() -> Catalog:
    catalog = Catalog(project="backreef", creation_date=_WRITTEN, charset="utf-8")
    for sentence, places in sentences().items():
        catalog.add(sentence, auto_comments=(places[0],), flags=_flags(sentence))
    return catalog


def _of_the_page() -> Catalog:
    catalog = Catalog(project="backreef", creation_date=_WRITTEN, charset="utf-8")
    for source in _sources():
        for _, message, comments, context in extract("python", BytesIO(source), keywords=KEYWORDS):
            catalog.add(message, context=context, auto_comments=comments, flags=_flags(message))
    return catalog


def _flags(message: str | tuple[str, ...]) -> tuple[str, ...]:
    texts = (message,) if isinstance(message, str) else message
    if any(BLANK.search(one) for one in texts):
        return ("python-brace-format",)
    return ("python-format",) if any("%(" in one for one in texts) else ()


def _sources() -> Iterator[bytes]:
    """Our modules, and our templates as the calls that they make."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "backreef.web.settings")
    from django.utils.translation.template import templatize

    for path in sorted(WEB.glob("*.py")):
        yield path.read_bytes()
    for path in sorted((WEB / "templates").rglob("*.html")):
        calls = templatize(path.read_text(encoding="utf-8"), origin=path.name)
        yield "\n".join(line.strip() for line in calls.splitlines()).encode("utf-8")


def translations(language: str, domain: str = "django") -> Catalog:
    """What stands in the file of a language."""
    with po_file(language, domain).open("rb") as file:
        return read_po(file, locale=language)


def brought_up_to_date(language: str, domain: str = "django") -> Catalog:
    """The file of a language with everything that is said now, and nothing else."""
    known = translations(language, domain) if po_file(language, domain).exists() else Catalog()
    catalog = Catalog(
        locale=language,
        project="backreef",
        version="0.1.0",
        last_translator="backreef contributors",
        language_team="backreef contributors",
        msgid_bugs_address="the issues of backreef",
        creation_date=_WRITTEN,
        revision_date=_WRITTEN,
        fuzzy=False,
    )
    what = "The page of backreef" if domain == "django" else "What backreef says on it"
    catalog.header_comment = f"# {what}, language {language}."
    for message in said(domain):
        if message.id:
            there = known.get(message.id, message.context)
            flags = tuple(flag for flag in message.flags if flag != "fuzzy")
            string = there.string if there is not None else None
            catalog.add(
                message.id,
                string,
                context=message.context,
                flags=flags,
                auto_comments=message.auto_comments if domain == "said" else (),
            )
    return catalog


def po_bytes(catalog: Catalog) -> bytes:
    """A catalog as a file to edit."""
    out = BytesIO()
    write_po(out, catalog, no_location=True, sort_output=True, width=100, omit_header=False)
    return out.getvalue()


def mo_bytes(catalog: Catalog) -> bytes:
    """A catalog as the program reads it."""
    out = BytesIO()
    write_mo(out, catalog)
    return out.getvalue()


def po_file(language: str, domain: str = "django") -> Path:
    """Where the file of a language stands."""
    return LOCALES[domain] / language / "LC_MESSAGES" / f"{domain}.po"


def answered(catalog: Catalog) -> tuple[int, int]:
    """How many of its sentences have an answer, and how many there are."""
    sentences = [message for message in catalog if message.id]
    return sum(bool(message.string) for message in sentences), len(sentences)


if __name__ == "__main__":
    for domain in DOMAINS:
        for one in languages():
            catalog = brought_up_to_date(one, domain)
            po_file(one, domain).write_bytes(po_bytes(catalog))
            po_file(one, domain).with_suffix(".mo").write_bytes(mo_bytes(catalog))
            there, of = answered(catalog)
            sys.stdout.write(f"{one}, {domain}: {there} of {of} sentences\n")
