"""The rule packs that ship with readiness: YAML files, read by readiness.rules.packs."""
