"""Forms whose inputs are keys of the plan file: they show the model; what is typed goes to the file."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import streamlit as st

from planner.errors import InputError
from planner.guide.entries import key_entry
from planner.screen.state import guarded, session, show_fault

from .mirror import mirror, show_again

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator

__all__ = ["Input", "plan_form", "submit"]


@dataclass(frozen=True)
class Input:
    """One input.

    Parameters
    ----------
    key : str
        Key of the plan file, ``mosaic.overlap``; ``camera.sensor_px 0`` for the first of a list.
    label : str
    value : object
        What the model says; None where it says nothing.
    kind : {'number', 'whole', 'text', 'choice', 'date'}
    decimals : int
        Shown of a number.
    options : sequence
        Of a choice.
    rest : tuple
        The whole list of which this is a part.
    help : str, optional
        What the guide's entry on the key does not say.
    default : object
        What a key that is left out means: choosing it takes the key out of the file.
    """

    key: str
    label: str
    value: Any
    kind: str = "number"
    decimals: int = 2
    options: Sequence[Any] = ()
    rest: tuple[Any, ...] = ()
    help: str | None = None
    default: Any = None

    @property
    def shown(self) -> Any:
        """The model's value as the input shows it."""
        if self.kind == "number" and self.value is not None:
            return round(float(self.value), self.decimals)
        return "" if self.kind == "text" and self.value is None else self.value

    @property
    def about(self) -> str | None:
        """What the question mark beside it opens: its own words, and the guide's on the key."""
        parts = [self.help, key_entry(self.key.partition(" ")[0])]
        return "\n\n".join(part for part in parts if part) or None

    def show(self, prefix: str) -> None:
        """Make the input."""
        key = mirror(f"{prefix}:{self.key}", self.shown, self.kind, self.options)
        if self.kind == "choice":
            st.selectbox(self.label, list(self.options), key=key, help=self.about)
        elif self.kind == "date":
            st.date_input(self.label, key=key, help=self.about, format="YYYY-MM-DD")
        elif self.kind == "text":
            st.text_input(self.label, key=key, help=self.about)
        elif self.kind == "whole":
            st.number_input(self.label, value=None, key=key, step=1, help=self.about)
        else:
            step = 10.0**-self.decimals if self.decimals <= 1 else 10.0 ** (1 - self.decimals)
            layout = f"%.{self.decimals}f"
            st.number_input(self.label, value=None, key=key, step=step, format=layout, help=self.about)

    def typed(self, prefix: str) -> Any:
        """Return what was typed, or ... if nothing was."""
        value = st.session_state.get(f"{prefix}:{self.key}", self.shown)
        same = value == self.shown or (value in ("", None) and self.shown in ("", None))
        if same:
            return ...
        if self.kind == "text":
            return _number_or_text(str(value).strip())
        return value


def _number_or_text(text: str) -> Any:
    """Return a number typed as text as a number, so that the file has no quotes about it."""
    try:
        number = float(text)
    except ValueError:
        return text or None
    return number if math.isfinite(number) else text


def plan_form(place: str, rows: Sequence[Sequence[Input]], button: str = "Apply") -> DeltaGenerator:
    """Show rows of inputs with one button; refused values are explained right there. Returns the form.

    Parameters
    ----------
    place : str
        Name of the form, and where its faults are shown.
    rows : sequence of sequence of Input
    button : str
    """
    form = st.form(place, border=False)
    with form:
        for row in rows:
            for column, one in zip(st.columns(len(row)), row, strict=True):
                with column:
                    one.show(place)
        st.form_submit_button(button, on_click=guarded(submit), args=(place, rows))
    show_fault(place)
    return form


def submit(place: str, rows: Sequence[Sequence[Input]]) -> bool:
    """Take over what is typed into a form; returns whether nothing was refused."""
    inputs = [one for row in rows for one in row]
    typed = {one.key: one.typed(place) for one in inputs}
    changed = [one for one in inputs if typed[one.key] is not ...]
    now = session()
    now.faults.pop(place, None)
    try:
        edits = {key: value for one in changed for key, value in _edits(one, inputs, typed).items()}
    except InputError as error:
        now.faults[place] = str(error)
        return False
    if not edits:
        return True
    taken = now.edit(place, edits, "Changed.")
    if taken:
        show_again([f"{place}:{one.key}" for one in changed])
    return taken


def _edits(one: Input, inputs: Sequence[Input], typed: Mapping[str, Any]) -> dict[str, Any]:
    """Return what an input changes: its key, or the list of which it is a part.

    Raises
    ------
    InputError
        If a part of the list is left empty and another is not.
    """
    name, _, index = one.key.partition(" ")
    if not index:
        return {name: None if typed[one.key] == one.default else typed[one.key]}
    parts = [other for other in inputs if other.key.startswith(f"{name} ")]
    whole = [
        given if typed[other.key] is ... else typed[other.key]
        for given, other in zip(one.rest, parts, strict=True)
    ]
    empty = [other.label for other, value in zip(parts, whole, strict=True) if value is None]
    if empty and len(empty) < len(parts):
        labels = " and ".join(repr(other.label) for other in parts)
        raise InputError(
            f"{labels} go together, got nothing for {empty[0]!r}; give both, or leave both empty"
        )
    return {name: None if empty else whole}
