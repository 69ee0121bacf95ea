"""What water costs: cartridges conditioned in damp air, light vapours in damp air, the test air of two standards."""
