"""Rule packs: data that say which steps and cautions belong to a trip, over a flat table of facts."""
