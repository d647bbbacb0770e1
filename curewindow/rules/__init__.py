"""What may be done and what may not, each rule once; whoever judges, says or draws reads it here."""
