"""The steps, in order; one that has been released is never edited."""
