"""A report as others want it: JSON, HTML with pictures, tables, and what build servers read."""
