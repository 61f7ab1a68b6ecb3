"""A trip file: text -> document with places -> checked against the schema -> frozen model in SI."""
