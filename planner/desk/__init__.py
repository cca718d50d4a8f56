"""What the office does with a day: intake, quoting, replanning, reports and the day book."""
