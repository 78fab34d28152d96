"""Sentences that can be said again in another language.

The core speaks English. A sentence with names and numbers in it is made by `phrase`, which is the
finished text and remembers what it was made from; whoever shows it may put it into other words. A
plain string is its own template.

    >>> text = phrase("{name} is open in {count} places", name="“Tail”", count=2)
    >>> text
    '“Tail” is open in 2 places'
    >>> in_words(text, {"{name} is open in {count} places": "{name} ist an {count} Stellen offen"}.get)
    '“Tail” ist an 2 Stellen offen'

Every first argument of `phrase` is a literal, or a choice between literals, so that a list of them
can be read off the source (`packaging/words.py`).
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping


class Phrase(str):
    """A text that knows what it was made from.

    Parameters
    ----------
    template
        The English sentence with its places in braces.
    values
        What stands in them; texts among them may be phrases themselves.
    """

    template: str
    values: Mapping[str, Any]

    def __new__(cls, template: str, values: Mapping[str, Any]) -> Phrase:
        """Put the values in."""
        made = super().__new__(cls, template.format(**values))
        made.template, made.values = template, values
        return made

    def __str__(self) -> str:
        """Stay what it is: the text of an exception made from it can still be put into other words."""
        return self

    def __reduce__(self) -> tuple[type[Phrase], tuple[str, Mapping[str, Any]]]:
        """Come back whole from a copy."""
        return Phrase, (self.template, self.values)


class Listing(str):
    """Texts one after the other, each of which may be a phrase."""

    separator: str
    parts: tuple[str, ...]

    def __new__(cls, separator: str, parts: Iterable[str]) -> Listing:
        """Join the parts."""
        parts = tuple(parts)
        made = super().__new__(cls, separator.join(parts))
        made.separator, made.parts = separator, parts
        return made

    def __str__(self) -> str:
        """Stay what it is."""
        return self

    def __reduce__(self) -> tuple[type[Listing], tuple[str, tuple[str, ...]]]:
        """Come back whole from a copy."""
        return Listing, (self.separator, self.parts)


def phrase(template: str, /, **values: Any) -> str:
    """Return a sentence with its values put in.

    Parameters
    ----------
    template
        A literal with named places: "{count} pieces are smaller than {least} mm²".
    values
        What stands in them.
    """
    return Phrase(template, values)


def listing(parts: Iterable[str], separator: str = ", ") -> str:
    """Return texts one after the other; phrases among them stay phrases."""
    return Listing(separator, parts)


def in_words(text: str, look_up: Callable[[str], str | None]) -> str:
    """Return a text in the words of a language.

    Parameters
    ----------
    text
        A phrase, a listing, or a plain string.
    look_up
        Gives the other language's template for an English one, or None (or the same) where it has none.

    What stands in the places of a phrase is looked up if it is a phrase, a listing or a choice (a `StrEnum`);
    any other text is a name or a word of the operator's, and stays: a shape called “Star” is called so everywhere.
    """
    if isinstance(text, Phrase):
        values = {
            name: in_words(value, look_up) if isinstance(value, (Phrase, Listing, StrEnum)) else value
            for name, value in text.values.items()
        }
        return (look_up(text.template) or text.template).format(**values)
    if isinstance(text, Listing):
        return text.separator.join(in_words(part, look_up) for part in text.parts)
    return look_up(text) or str(text) if text else ""
