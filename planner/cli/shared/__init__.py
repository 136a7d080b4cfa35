"""What verbs do with a plan file that several instruments share."""
