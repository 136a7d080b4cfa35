"""How a page behaves in the browser, whatever stands on it."""
