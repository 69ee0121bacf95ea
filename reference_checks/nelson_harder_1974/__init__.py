"""Recalled times of eighty vapours through one kind of cartridge pair, and what the models make of them."""
