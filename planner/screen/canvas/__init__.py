"""The sky in the browser, on which a picture is composed by hand."""
