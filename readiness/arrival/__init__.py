"""At camp: shots recorded, judged against the reference, their cause found, the sight corrected."""
