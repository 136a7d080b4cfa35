"""Made-up frames, to practise the review with."""
