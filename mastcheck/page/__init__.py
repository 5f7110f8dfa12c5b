"""The page: one self-contained HTML file made from a result."""
