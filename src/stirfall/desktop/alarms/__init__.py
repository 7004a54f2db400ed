"""Alarms in the window: what calls for the person, in words and, where wanted, with a tone."""
