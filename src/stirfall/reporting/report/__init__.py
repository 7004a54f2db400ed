"""The lab report as a document tree, its forms as HTML and Markdown, and the publication bundle."""
