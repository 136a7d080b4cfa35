"""What options are given: kinds of values with refusals of their own."""
