package block

import "regexp"

// boxForm is how the initials of a box are written.
var boxForm = regexp.MustCompile(`^[A-Z][A-Z0-9]{0,3}$`)
