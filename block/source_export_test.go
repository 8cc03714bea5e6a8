package block

// CitedKeys lets tests see which publications a citation names.
func CitedKeys(cite string) []string { return citedKeys(cite) }
