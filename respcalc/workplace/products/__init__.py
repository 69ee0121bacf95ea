"""Products by composition: how a measured total in the air is divided among the vapours of a liquid."""
