"""The page about the rules, made from the rules themselves."""

from __future__ import annotations

from backreef.company.engine import RULES, remedies
from backreef.company.findings import Rule, rules

HEAD = """# Rules of living together

Made from `src/backreef/company` by tests/unit/company/test_manual.py; do not edit. To write it anew:
`BACKREEF_RECORD_RULES=1 python3 go.py test tests/unit/company/test_manual.py`.

`backreef check` asks each of these rules in the order of harm. A rule reads facts of the catalogue and the
plan, nothing else. It gives evidence, a condition that makes it better or worse, and remedies. Where it lacks
a fact it says `unknown: ...` and which; it never passes for want of knowledge. There is no score: what
matters stands in the sentences. Each rule is tested with a plan that it speaks about and a twin about which
it is silent (tests/unit/company/test_pairs.py).
"""


def rules_page() -> str:
    """Every rule with what it looks for, what it reads and its remedies; then the numbers they use."""
    lines = [HEAD]
    for number, rule in enumerate(RULES, start=1):
        lines += _rule(number, rule)
    lines += [
        "## Numbers",
        "",
        "| number | value | range | unit | what for | status |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for name, row in rules()["numbers"].items():
        cells = (
            f"`{name}`",
            f"{row['value']:g}",
            f"{row['low']:g} to {row['high']:g}",
            row["unit"] or "-",
            row.get("place", ""),
            row["status"],
        )
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


def _rule(number: int, rule: Rule) -> list[str]:
    told = " ".join((rule.look.__doc__ or "").split())
    lines = [f"## {number}. `{rule.name}`", "", told, ""]
    if rule.reads:
        lines.append(f"- reads of the catalogue: {_listed(rule.reads)}")
    lines.append(f"- reads of the plan: {_listed(('animals', *rule.plan))}")
    lines += [f"- remedy: {remedy}" for remedy in remedies()[rule.name]]
    return [*lines, ""]


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(f"`{name}`" for name in dict.fromkeys(names))
