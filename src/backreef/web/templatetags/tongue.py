"""Words of the rooms in templates: `told`, `plain` in attributes, `told_all` for markup that was kept."""

from __future__ import annotations

from django import template
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString, mark_safe

from backreef.plots.markup import is_known
from backreef.plots.words import capital, clause
from backreef.tongue.door import OWN, said
from backreef.tongue.markup import said_markup

register = template.Library()


@register.filter
def told(words: object) -> str:
    """Words of a room in the language of the reader; those that are not known in it are marked as English."""
    if hasattr(words, "__html__"):
        return str(words)
    text = str(words)
    if is_known(text):
        return conditional_escape(said(text))
    return format_html('<span lang="{}">{}</span>', OWN, text)


@register.filter
def plain(words: object) -> str:
    """The same without any mark, where none can stand: in attributes and options."""
    return str(said(str(words)))


@register.filter
def told_all(markup: object) -> SafeString:
    """A piece that was made and kept in the language of the rooms."""
    return mark_safe(said_markup(str(markup)))  # noqa: S308  made by plots.markup, which escapes


@register.filter
def begins(words: object) -> str:
    """Words of a room at the beginning of a line; pH stays what it is."""
    return capital(str(words))


@register.filter
def within(words: object) -> str:
    """Words of a room within a line."""
    return clause(str(words))
