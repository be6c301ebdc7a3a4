"""A language other than the one that the rooms speak: it says their sentences in its own words."""

from __future__ import annotations

import re
from collections import OrderedDict, defaultdict
from collections.abc import Iterable, Iterator
from threading import Lock

from backreef.tongue.forms import BLANK, LETTERS, WORDS, Form, like, plain

_SENTENCES = re.compile(r"(?<=[.!?])(?<! al\.) (?=[A-Z0-9“])")
_LISTED = "; "
_MOST_IN_A_SENTENCE = 3
"""More parts than that are a list of sentences."""
_JOINTS = ("; ", " · ", ": ", " – ", " → ", " < ", " > ", " = ", ", ", "–")
_ASIDES = tuple(
    re.compile(rf"(?P<head>{head})? ?\((?P<aside>(?:[^()]|\([^()]*\))*)\)(?P<rest>.*)", re.DOTALL)
    for head in (r".*\S", r".*?\S")
)
"""The last brackets of a text, and the first; each may hold brackets itself."""
_COUNTED = re.compile(
    r"(?P<count>(?:\d{1,2}:\d\d )?[<~]?[−+\-]?\d[\d.]*(?: (?:g|mL|L|x|×))?) (?P<rest>\D.*)", re.DOTALL
)
_COUNTING = re.compile(r"(?P<rest>.*\D) (?P<count>\d[\d.]*(?:[ \u00a0]?%)?)", re.DOTALL)
_DATE = re.compile(r"(?:(?P<day>\d{1,2}) )?(?P<month>[A-Z][a-z]{2,8})(?: (?P<year>\d{4}))?")
_BOUND = re.compile(r"(?P<rest>.*) (?P<count>(?:over|under) \d+[ \u00a0]?%)", re.DOTALL)
_MEASURED = re.compile(r"(?P<rest>.*[^\W\d_]) (?P<count>\d[\d.]* [^\d()]{1,30})", re.DOTALL)
_POINT = re.compile(r"(?<=\d)\.(?=\d)")
_DATE_FORM, _MONTH_FORM, _DAY_FORM = "{day} {month} {year}", "{month} {year}", "{day} {month}"
_POINT_FORM = "0.5"
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_SHORT_MONTHS = ("Jan", "Feb", "Mar", "Apr", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
SPECIAL = (_DATE_FORM, _MONTH_FORM, _DAY_FORM, _POINT_FORM, *_SHORT_MONTHS)
"""Messages beside the sentences: how dates, short months and a number with decimals are written."""
_LEAD = re.compile(r"([^{}:]+): .*\{", re.DOTALL)
_SPACE = " \n\t·:"
_MOST_OF_A_NAME = 3
_LEAST_TOLD = 5
"""Letters of its own that a form needs to be believed where its blanks hold words that nobody knows."""
_MOST_KEPT = 20_000
_DEEPEST = 9


Said = tuple[str, int]
"""Words, and how many of them are said as the rooms say them, for want of others."""


class Speaker:
    """Says in its own language what the rooms said in theirs.

    A text is looked for as it is, then as a sentence with blanks, then in parts: its sentences, its clauses,
    what stands in brackets. What is in no form is left as it is, and known to be so.
    """

    def __init__(self, code: str, forms: Iterable[Form]) -> None:
        self.code = code
        self._whole: dict[str, str] = {}
        self._forms: dict[str, list[Form]] = defaultdict(list)
        self._kept: OrderedDict[str, Said] = OrderedDict()
        self._cut: dict[str, tuple[int, Said]] = {}
        self._deepest = 0
        self._lock = Lock()
        leads: dict[str, str] = {}
        for form in forms:
            if not form.answer:
                continue
            if BLANK.search(form.asked) and form.asked not in SPECIAL:
                self._forms[form.anchor].append(form)
                leads.update(_lead_of(form))
            else:
                self._whole.setdefault(form.key, form.answer)
        self._whole = {**leads, **self._whole}
        self._months = {plain(month) for month in (*_MONTHS, *_SHORT_MONTHS)} & set(self._whole)
        self._point = self._whole.pop(plain(_POINT_FORM), _POINT_FORM)[1:-1]
        self._date = self._whole.pop(_DATE_FORM, _DATE_FORM)
        self._month = self._whole.pop(_MONTH_FORM, _MONTH_FORM)
        self._day = self._whole.pop(_DAY_FORM, _DAY_FORM)

    def say(self, text: str) -> tuple[str, bool]:
        """The text in this language, and whether any of its words were known; figures always are."""
        if not LETTERS.search(text):
            return _POINT.sub(self._point, text), True
        with self._lock:
            self._cut.clear()
            said, unknown = self._said(text, 0)
        return said, unknown < _words_in(text)

    def _said(self, text: str, depth: int) -> Said:
        if not LETTERS.search(text):
            return _POINT.sub(self._point, text), 0
        kept = self._kept.get(text)
        if kept is None:
            kept = self._deeply(text, depth)
            while len(self._kept) > _MOST_KEPT:
                self._kept.popitem(last=False)
        return kept

    def _deeply(self, text: str, depth: int) -> Said:
        """What was given up at the deepest is said anew where there is more room."""
        tried, said = self._cut.get(text, (_DEEPEST + 1, (text, 0)))
        if tried <= depth:
            self._deepest = _DEEPEST
            return said
        before, self._deepest = self._deepest, depth
        said = self._looked_for(text, depth)
        if self._deepest < _DEEPEST:
            self._kept[text] = said
        else:
            self._cut[text] = (depth, said)
        self._deepest = max(before, self._deepest)
        return said

    def _looked_for(self, text: str, depth: int) -> Said:
        core = text.strip(_SPACE)
        if depth < _DEEPEST:
            said, unknown = self._core(core, depth)
        else:
            said, unknown, self._deepest = core, _words_in(core), _DEEPEST
        before = text[: len(text) - len(text.lstrip(_SPACE))]
        return f"{before}{said}{text[len(before) + len(core) :]}", unknown

    def _core(self, text: str, depth: int) -> Said:
        key = plain(" ".join(text.split()) if "\n" in text or "  " in text else text)
        whole = self._whole.get(key)
        if whole is not None:
            return like(text, whole), 0
        dated = _DATE.fullmatch(text)
        if dated is not None and plain(dated["month"]) in self._months:
            return self._dated(dated), 0
        sentences = _SENTENCES.split(text)
        if len(sentences) > 1:
            return self._joined(sentences, " ", depth)
        listed = text.split(_LISTED)
        if len(listed) > _MOST_IN_A_SENTENCE and all(map(_is_closed, listed)):
            return self._list(listed, key, text, depth)
        formed = self._formed(key, depth)
        if formed is not None and formed[1] == 0 and formed[2] >= _LEAST_TOLD:
            return like(text, formed[0]), 0
        parted, unknown = self._in_parts(text, depth)
        weak = formed is not None and formed[2] < _LEAST_TOLD
        weak = weak and (not unknown or any(joint in text for joint in _JOINTS))
        if formed is None or unknown < formed[1] or (unknown == formed[1] and weak):
            return parted, unknown
        return like(text, formed[0]), formed[1]

    def _list(self, parts: list[str], key: str, text: str, depth: int) -> Said:
        """A list of sentences; or one sentence of many clauses, where that says more."""
        said = self._joined(self._grouped(parts, depth), _LISTED, depth)
        formed = self._formed(key, depth, holding=_LISTED) if said[1] else None
        if formed is None or formed[1] >= said[1]:
            return said
        return like(text, formed[0]), formed[1]

    def _grouped(self, parts: list[str], depth: int) -> list[str]:
        """The same with those put together that are one known sentence."""
        found: list[str] = []
        while parts:
            most = next(
                (count for count in range(len(parts), 1, -1) if self._is_one(parts[:count], depth)), 1
            )
            found.append(_LISTED.join(parts[:most]))
            parts = parts[most:]
        return found

    def _is_one(self, parts: list[str], depth: int) -> bool:
        key = plain(_LISTED.join(parts))
        if key in self._whole or len(parts) > _MOST_IN_A_SENTENCE:
            return key in self._whole
        formed = self._formed(key, depth, holding=_LISTED)
        return formed is not None and not formed[1] and formed[2] >= _LEAST_TOLD

    def _dated(self, dated: re.Match[str]) -> str:
        month = like(dated["month"], self._whole[plain(dated["month"])])
        form = self._date if dated["day"] and dated["year"] else self._month
        form = form if dated["year"] else self._day
        return form.format(day=dated["day"], month=month, year=dated["year"])

    def _formed(self, key: str, depth: int, holding: str = "") -> tuple[str, int, int] | None:
        """The text by the form that leaves the fewest words unknown; of these, by the one that says most.

        Told too is how many letters the form says itself. Only forms that hold a joint may be asked for.

        Blanks that nobody knows may hold names, and no sentences.
        """
        best: tuple[tuple[int, int, int], str] | None = None
        for form in sorted(self._candidates(key), key=lambda one: -one.told):
            for blanks in form.readings_of(key) if holding in form.asked else ():
                if form.asked.startswith("{") and _LISTED in next(iter(blanks.values())):
                    continue  # what stands before the last clause is another clause
                filled = {name: self._said(value, depth + 1) for name, value in blanks.items()}
                unknown = sum(count for _, count in filled.values())
                strange = [blanks[name] for name, (_, count) in filled.items() if count]
                if strange and (form.told < _LEAST_TOLD or any(map(_is_prose, strange))):
                    continue
                rank = (-unknown, form.told, -len(blanks))
                if best is None or rank > best[0]:
                    best = (rank, form.filled({name: said for name, (said, _) in filled.items()}))
            if best is not None and not best[0][0]:
                break
        return None if best is None else (best[1], -best[0][0], best[0][1])

    def _candidates(self, key: str) -> Iterator[Form]:
        yield from self._forms[""]
        for word in dict.fromkeys(WORDS.findall(key)):
            if word in self._forms:
                yield from self._forms[word]

    def _in_parts(self, text: str, depth: int) -> Said:
        found: list[Said] = []
        asides = {one.span("aside"): one for each in _ASIDES if (one := each.fullmatch(text)) is not None}
        found += [
            self._with_aside(text, one, depth)
            for one in asides.values()
            if (one["head"] or one["rest"]) and _is_closed(one["head"] or "")
        ]
        for joint in _JOINTS:
            if joint in text:
                ways = (text.partition(joint), text.rpartition(joint))
                for head, _, rest in dict.fromkeys(reversed(ways) if joint == ", " else ways):
                    found.append(self._two(head, joint, rest, depth))
        if found:
            return min(found, key=lambda one: one[1])
        counted = _COUNTED.fullmatch(text)
        if counted is None:
            shapes = (_BOUND, _COUNTING, _MEASURED)
            counted = next((one for shape in shapes if (one := shape.fullmatch(text)) is not None), None)
            if counted is not None:
                return self._joined([counted["rest"], counted["count"]], " ", depth)
        if counted is not None:
            rest, unknown = self._said(counted["rest"], depth + 1)
            return f"{_POINT.sub(self._point, counted['count'])} {rest}", unknown
        return text, _words_in(text)

    def _joined(self, parts: list[str], joint: str, depth: int) -> Said:
        said = [self._said(part, depth + 1) for part in parts]
        return joint.join(words for words, _ in said), sum(unknown for _, unknown in said)

    def _two(self, head: str, joint: str, rest: str, depth: int) -> Said:
        """What stands before a joint and after it; a clause that is known in pieces only is left alone."""
        parts = ((head, *self._said(head, depth)), (rest, *self._said(rest, depth)))
        if joint == ", " and any(unknown and _is_prose(part) for part, _, unknown in parts):
            return f"{head}{joint}{rest}", _words_in(head) + _words_in(rest)
        return joint.join(said for _, said, _ in parts), sum(unknown for _, _, unknown in parts)

    def _with_aside(self, text: str, aside: re.Match[str], depth: int) -> Said:
        found = text
        unknown = 0
        for name in ("rest", "aside", "head"):
            if aside[name]:
                said, count = self._said(aside[name], depth + 1)
                found = found[: aside.start(name)] + said + found[aside.end(name) :]
                unknown += count
        return found, unknown


def _lead_of(form: Form) -> dict[str, str]:
    """What a sentence says before its first colon, where no blank stands before it."""
    asked, answer = (_LEAD.match(one) for one in (form.key, form.answer))
    return {} if asked is None or answer is None else {asked[1]: answer[1]}


def _is_closed(text: str) -> bool:
    return text.count("(") == text.count(")")


def _words_in(text: str) -> int:
    return len(LETTERS.findall(text))


def _is_prose(text: str) -> bool:
    """Whether words that nobody knows are a sentence rather than a name."""
    return sum(word.isalpha() and word.islower() for word in text.split()) >= _MOST_OF_A_NAME
