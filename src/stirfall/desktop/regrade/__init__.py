"""Grading again, blind: photos alone, the agreement at the end."""
