"""Whether a filtering respirator is allowed at all: jurisdiction, limits, facepiece, rules, oxygen, eyes, the gate."""
