"""The nouns: frozen dataclasses that the stages hand to one another. Imports nothing but numpy and the standard library."""
