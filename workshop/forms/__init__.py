"""What is asked on pages, with ranges and units."""
