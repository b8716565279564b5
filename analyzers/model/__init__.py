"""The nouns: frozen dataclasses that the stages hand to one another. Needs numpy and scipy only."""
