"""Photos: scaled down when they come in, shown as a strip, looked at large, kept as examples of the classes."""
