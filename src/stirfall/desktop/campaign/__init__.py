"""Dialogs about the campaign as a whole: a new one, its settings, its factors."""
