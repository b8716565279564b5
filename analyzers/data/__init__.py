"""Tables of the trade with the source of every row, and the built-in shop and policy."""
