"""Plan -> pages: the elements of a page, then text, Markdown, JSON and CSV. Nothing is computed here."""
