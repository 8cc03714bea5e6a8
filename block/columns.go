package block

// onlyLine is the line of a circuit that serves one.
func onlyLine(w *work) int {
	if w.has(downEnd) {
		return downEnd
	}
	return upEnd
}

// effectOf says into which column of a register a signal goes.
func effectOf(key CodeKey, train bool) Effect {
	switch {
	case train:
		return Offered
	case key == enteringSection:
		return Entering
	case key == outOfSection:
		return OutOf
	}
	return Across
}
