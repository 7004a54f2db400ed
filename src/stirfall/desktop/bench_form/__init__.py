"""The bench form: jar, conditions, outcome, and the checks around them; ``page.BenchPage`` is the whole of it."""
