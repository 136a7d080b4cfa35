import streamlit as st

st.caption("Not yet.")
