"""A page whose component computes nothing: its answer is what the framework's own round trip costs."""

import streamlit as st

HTML = "<button>Ask</button>"
JS = """
export default function ({ parentElement: root, data, setTriggerValue }) {
  const S = root.__null ??= { times: [] };
  if (S.asked && data.n >= S.n) { S.times.push(performance.now() - S.asked); S.asked = 0; }
  root.querySelector("button").onclick = () => {
    S.n = data.n + 1; S.asked = performance.now(); setTriggerValue("ask", S.n); };
}
"""
mount = st.components.v2.component("null", html=HTML, js=JS)
state = st.session_state
state.setdefault("n", 0)


def asked() -> None:
    """Count."""
    state["n"] += 1


mount(key="null", data={"n": state["n"]}, on_ask_change=asked)
