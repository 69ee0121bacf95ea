"""The cautions that go with every number somebody may act on."""

from __future__ import annotations

__all__ = ["CAUTIONS", "SHORT_CAUTION"]

SHORT_CAUTION = (
    "Estimate, not a guarantee. Local rules, the maker's instructions and the judgement of a qualified person "
    "come first."
)
CAUTIONS: tuple[str, ...] = (
    "This is an estimate from published models, not a guarantee. Real cartridges, air and work differ from any model.",
    "Leave the area at once on smell, taste, irritation, dizziness or harder breathing, and change the cartridges "
    "whatever the schedule says. Never wait for a smell: many vapours do harm before they can be smelled.",
    "Not for air that is immediately dangerous to life or health, for unknown contaminants or concentrations, for less "
    "than 19.5 % oxygen, or for fire-fighting and rescue.",
    "It holds only for a respirator that fits: fit test within the last 12 months and after any change of face or "
    "facepiece, no hair under the seal, and a seal check at every donning.",
    "The instructions and limits of the respirator's maker and its approval come first where they are stricter, and "
    "so do local law, the substance's own standard and the site's rules.",
    "A qualified person (such as an industrial hygienist) must review the inputs and this result before anyone "
    "relies on it, and again when the work, the materials, the season or the cartridge changes.",
    "Discard cartridges that are wet, damaged, past their date, or opened for an unknown time.",
)
