"""Units, vocabulary, sources, errors, tables and the model card: what every room stands on."""
