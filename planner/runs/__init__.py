"""What one crew does: its run, timed, priced, gathered in a plan and checked by the referee."""
