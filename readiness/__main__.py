"""`python -m readiness` is the same as the `readiness` command."""

from readiness.cli import run

if __name__ == "__main__":
    run()
