"""Files in, catalogue out: reading, headings, cells, and the DuckDB store."""
