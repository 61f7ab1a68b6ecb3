#!/usr/bin/env bash
# The tests with the oldest supported version of each dependency: the floors of pyproject.toml, in an environment of
# their own that is thrown away. Arguments go to pytest; without any, the whole suite runs.
#
#     bash tests/oldest.sh                      # all of it, about as long as the suite itself
#     bash tests/oldest.sh tests/test_cli.py    # a part
set -euo pipefail
cd "$(dirname "$0")/.."

venv=$(mktemp -d)
trap 'rm -rf "$venv"' EXIT
python3 -m venv "$venv"
"$venv/bin/python" - > "$venv/floors.txt" <<'PYTHON'
import tomllib
from pathlib import Path

for requirement in tomllib.loads(Path("pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]:
    print(requirement.replace(">=", "=="))
PYTHON
echo "+ oldest: $(tr '\n' ' ' < "$venv/floors.txt")"
"$venv/bin/pip" install -q -c "$venv/floors.txt" -e ".[test]"
"$venv/bin/pytest" -q -p no:cacheprovider "$@"
