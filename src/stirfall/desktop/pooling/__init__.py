"""Pooling the sessions of several benches, from the window."""
