"""Inputs that mirror the plan: they show the model, and keep what was typed into them.

Inputs that the model overwrites have no `on_change`: every message of the browser carries the values of all
inputs, so that an old value would look like an edit. They stand in forms and are read when one is submitted.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import streamlit as st

__all__ = [
    "INPUTS",
    "begin_inputs",
    "end_inputs",
    "fresh_input",
    "known_kinds",
    "mirror",
    "show_again",
    "take_over",
    "type_again",
]

INPUTS = "inputs"
"""Where a run notes its inputs."""


def mirror(key: str, value: Any, kind: str = "", options: Sequence[Any] | Mapping[Any, str] = ()) -> str:
    """Let an input show a value of the model; what was typed stays until the model changes, on other pages too.

    A run can be broken off at every line for a newer one: what an input was told counts only once it was made.

    Parameters
    ----------
    key : str
        Of the input.
    value : object
        What the model says.
    kind : {'number', 'whole', 'text', 'choice', 'radio', 'check', 'date'}, optional
        Of the input; by default as the value tells.
    options : sequence or mapping
        Of a choice, or what they are called.
    """
    state, told = st.session_state, _told()
    told.note_made()
    names = options if isinstance(options, Mapping) else {one: str(one) for one in options}
    _register(key, kind or _kind(value), names.get(value, value) if names else value)
    if told.shown.get(key, ...) != value:
        told.typed.pop(key, None)
        state[key] = value
    elif key in told.there and key in state:
        told.typed[key] = state[key]
    else:  # the input comes back
        state[key] = told.typed.get(key, value)
    again = told.again.get(key, ...)
    if again is not ...:
        state[key] = told.typed[key] = next((one for one, name in names.items() if name == again), again)
    told.making = key, value
    return key


def fresh_input(name: str, value: str) -> tuple[str, str]:
    """Return key and text of a text input that is made anew for another value of the model.

    What stands in a closed menu does not follow a value that is set while it is closed; an input that begins
    with its value does.
    """
    typed = st.session_state.setdefault("fresh", {})
    before, shown = typed.get(name, (value, value))
    if before != value:
        shown = value
    asked = _fresh_key(name, value, shown)
    again = _told().again.get(asked)
    if isinstance(again, str):
        shown = again
    typed[name] = value, shown
    _told().again.pop(asked, None)
    key = _fresh_key(name, value, shown)
    _register(key, "text", value)
    return key, shown


def _fresh_key(name: str, value: str, shown: str) -> str:
    """Return a key that is another one for another value."""
    return f"{name}_{zlib.crc32(value.encode()):08x}" + (
        f"{zlib.crc32(shown.encode()):08x}" * (shown != value)
    )


def _register(key: str, kind: str, value: Any) -> None:
    """Note what an input of this run shows, for the browser's memory of what was typed."""
    st.session_state.setdefault(INPUTS, {})[key] = (kind, value)
    _told().kinds[key] = kind


def _kind(value: Any) -> str:
    if isinstance(value, bool):
        return "check"
    return "number" if isinstance(value, int | float) else "text"


@dataclass
class _Told:
    """What the inputs of a browser tab were told.

    Parameters
    ----------
    shown : dict
        The model's values.
    typed : dict
        What stands in them.
    again : dict
        What is to stand in those that came back empty.
    there : set
        Inputs that the browser has: it lets go those that a whole run leaves out, though a click made at that
        moment still names them.
    making : tuple, optional
        The input that is being made, and its value.
    kinds : dict
        Of all inputs that were ever there.
    """

    shown: dict[str, Any] = field(default_factory=dict)
    typed: dict[str, Any] = field(default_factory=dict)
    again: dict[str, Any] = field(default_factory=dict)
    there: set[str] = field(default_factory=set)
    making: tuple[str, Any] | None = None
    kinds: dict[str, str] = field(default_factory=dict)

    def note_made(self) -> None:
        """Note that what was being made is there."""
        if self.making is not None:
            key, self.shown[key] = self.making
            self.again.pop(key, None)
            self.there.add(key)
        self.making = None


def _told() -> _Told:
    if "told" not in st.session_state:
        st.session_state["told"] = _Told()
    found: _Told = st.session_state["told"]
    return found


def begin_inputs() -> None:
    """Begin a whole run: no input was made yet."""
    st.session_state[INPUTS] = {}
    _told().making = None  # the run before was broken off there


def end_inputs() -> None:
    """Note at the end of a whole run which inputs it made: the browser lets the others go."""
    told = _told()
    told.note_made()
    told.there.intersection_update(st.session_state[INPUTS])


def take_over(key: str, value: Any) -> None:
    """Note that the model has taken what stands in the input that was just made: it is nothing new to show there."""
    _told().making = key, value


def known_kinds() -> Mapping[str, str]:
    """Return the kinds of all inputs by their keys, also of those that a run was broken off before."""
    return _told().kinds


def type_again(key: str, value: Any) -> None:
    """Let an input that came back without what was typed into it show that."""
    _told().again[key] = value


def show_again(keys: Sequence[str]) -> None:
    """Let inputs show the model again, whatever was typed into them."""
    for key in keys:
        _told().shown.pop(key, None)
