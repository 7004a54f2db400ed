"""The odds pane: what the attempts say about the conditions in hand."""
