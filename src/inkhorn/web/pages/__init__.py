"""The pages beside the bench: daybook, entry, trials, the page to be matched, materials."""
