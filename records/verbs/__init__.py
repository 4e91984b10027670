"""Every write is a verb: guard, check, one transaction. `guard.VERBS` lists them all."""
