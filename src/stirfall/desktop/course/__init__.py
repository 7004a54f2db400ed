"""The course of an attempt: the temperature log drawn with the events of the run; logs are added here."""
