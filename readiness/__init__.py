"""readiness: does this bow still shoot as it did, and if not, what moved?"""

__version__ = "0.1.0"
