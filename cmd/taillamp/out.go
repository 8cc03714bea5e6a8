package main

import (
	"encoding/json"
	"io"
)

// writeJSON writes one object as one line. What stands in these objects always encodes; a failing writer shows in w.
func writeJSON(w io.Writer, v any) {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	_ = e.Encode(v)
}

// errWriter remembers the first error of a writer, so that one test at the end is enough.
type errWriter struct {
	w   io.Writer
	err error
}

func (e *errWriter) Write(p []byte) (int, error) {
	if e.err != nil {
		return 0, e.err
	}
	n, err := e.w.Write(p)
	e.err = err
	return n, err
}
