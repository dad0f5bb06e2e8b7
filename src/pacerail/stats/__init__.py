"""Figures from a timing record: frame series, rolling rates, summaries."""
