"""The bench form: jar, conditions, outcome, and the checks around them."""

from stirfall.desktop.bench_form.page import BenchPage

__all__ = ["BenchPage"]
