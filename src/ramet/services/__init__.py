"""One verb of the user each: open what is needed, compute, write, say what was done."""
