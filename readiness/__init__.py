"""Does this bow still shoot as it did, and if not, what moved?  The package behind the readiness command."""

__version__ = "0.1.0"
