"""Writes the table of facts in DEVELOPERS.md from the program's own list: python tests/facts_table.py"""

from pathlib import Path

from readiness.rules.facts import FACTS

DEVELOPERS = Path(__file__).resolve().parents[1] / "DEVELOPERS.md"
BEGIN, END = "<!-- facts: written by tests/facts_table.py -->\n", "<!-- end of facts -->"


def facts_table() -> str:
    """The Markdown table of every fact."""
    rows = ["| fact | kind | what it is | needs |", "|---|---|---|---|"]
    rows += [f"| `{fact.name}` | {fact.kind} | {fact.about} | {fact.needs} |" for fact in FACTS.values()]
    return "\n".join(rows) + "\n"


def with_table(text: str) -> str:
    """The file with the table in its place."""
    head, rest = text.split(BEGIN)
    return head + BEGIN + facts_table() + END + rest.split(END)[1]


if __name__ == "__main__":
    DEVELOPERS.write_text(with_table(DEVELOPERS.read_text(encoding="utf-8")), encoding="utf-8")
