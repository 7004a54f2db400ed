"""The guided run: from jar to result, one large step at a time."""
