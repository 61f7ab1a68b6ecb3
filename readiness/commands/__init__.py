"""One module a command, each with its options and no more than the calls that do its job."""
