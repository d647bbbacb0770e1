"""What may be done and what may not, each rule once: judges, texts and pictures read it here."""
