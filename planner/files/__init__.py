"""Plan and setup files in; everything that is written out."""
