"""What a form sends back as the command of its verb."""

from __future__ import annotations

from collections.abc import Mapping

from browseline.chain.desk.desk import Said
from browseline.chain.desk.form_found import WHEN
from browseline.chain.desk.forms import CLASS, HEAD, HEADS, SHARED, Form, FormField
from browseline.chain.desk.typed import Typed
from browseline.events.verbs import ENTRIES

TICKED = ("yes", "on", "1", "true")
_DESPITE = "despite_shut"


def typed_in(form: Form, given: Mapping[str, str], who: str) -> Typed:
    """Return the command that a filled form stands for.

    Parameters
    ----------
    form : Form
        The form as it was shown.
    given : mapping from field to text
        What was typed; a bare number takes the unit that stood beside its field.
    who : str
        Whose entry it is.
    """
    entry = ENTRIES[form.verb]
    texts: dict[str, str] = {}
    for field in form.fields:
        text = " ".join(given.get(field.name, "").split())
        if text and field.name not in (entry.subject, *SHARED):
            texts[field.name] = with_unit(field, text)
    heads = _heads(texts)
    texts |= heads
    subject = " ".join(given.get(entry.subject, "").split())
    because = " ".join(given.get("because", "").split())
    own = entry.also.get("because", "")
    if because and own:
        texts[own], because = because, ""
    said = Said(
        given.get(WHEN, "").strip(), who, because, given.get("yes", "") in TICKED,
        given.get("planned", "") in TICKED,
    )  # fmt: skip
    return Typed(entry, [subject] if subject else [], texts, said)


def with_unit(field: FormField, text: str) -> str:
    """Return a text with the unit beside its field, where it is a bare number."""
    bare = field.unit and not any(sign.isalpha() or sign in "$€£%" for sign in text)
    return f"{text} {field.unit}" if bare else text


def _heads(texts: dict[str, str]) -> dict[str, str]:
    """Take the numbers by class out of some texts, and return them as the verb's own words have them."""
    by_class = {name: texts.pop(name) for name in list(texts) if name.startswith(HEAD)}
    number, klass = texts.pop(HEADS, ""), texts.pop(CLASS, "")
    out = {}
    if by_class:
        parts = [f"{name.removeprefix(HEAD)}={text}" for name, text in by_class.items()]
        out["head"] = ", ".join(parts)
    if number or klass:
        out[HEADS] = f"{number} {klass}".strip()
    return out
