"""The guide: a page a subject, as Markdown beside this file, for the command line, the app and readers."""
