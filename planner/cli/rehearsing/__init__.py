"""`rehearse`: made-up frames of a plan, to practise the rest of the job."""
