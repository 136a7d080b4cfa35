"""Inputs that show the plan, their memory in the browser, and forms of them."""
