package block

// Check gives the flaws of a layout, which make it useless, and warnings: what is legal but risky.
func (l *Layout) Check() (flaws, warnings Flaws) {
	return nil, nil
}
