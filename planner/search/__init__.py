"""Choosing the runs: candidates, the exact choice among them, improvement, the lower bound and when to stop."""
