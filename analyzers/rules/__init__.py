"""Rules: what an experienced machinist would say about a part, one file and one TOML of limits each."""
