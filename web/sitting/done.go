package sitting

// Done is closed when the sitting has come to an end and nothing more is recorded. Trouble then tells how.
func (l *Live) Done() <-chan struct{} { return l.ended }
