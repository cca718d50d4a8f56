"""Candidate runs, the exact choice among them, the lower bound, and solve()."""
