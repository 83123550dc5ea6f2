"""The full-text index by FTS5.

Syntax: https://www.sqlite.org/fts5.html#full_text_query_syntax. A phrase in double quotes is cut
into words by the tokenizer, so that nothing in it is an operator.
"""

from __future__ import annotations

from recorder.archive.index.text import Phrase, Query


def expression(query: Query) -> str:
    """The same as FTS5 reads it; every group needs a phrase."""
    return " AND ".join(f"({' OR '.join(map(_quoted, group))})" for group in query)


def _quoted(phrase: Phrase) -> str:
    quoted = '"' + phrase.text.replace('"', '""') + '"'
    return f"{quoted} *" if phrase.prefix else quoted
