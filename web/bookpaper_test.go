package web_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/web/sitting"
)

// F6: the book of a sitting still going on can be taken away on paper.
func TestBookIsTakenAwayOnPaper(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	answer, text := s.get("/s/evening/book/OS.pdf")
	require.Equal(t, 200, answer.StatusCode)
	require.Equal(t, "application/pdf", answer.Header.Get("Content-Type"))
	require.Contains(t, answer.Header.Get("Content-Disposition"), `"evening-OS.pdf"`)
	require.True(t, strings.HasPrefix(text, "%PDF-1."))
	require.Contains(t, text, "%%EOF")
}
