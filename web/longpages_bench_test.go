package web_test

import (
	"io"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkLongEveningPages says what the program takes to answer each page of an evening of eight hours and 20,000 entries
// (E1), besides what the browser then takes to lay it out (TestLongEveningOnASlowTablet): first-ms the first time that anybody
// opens that page, when the record must be read or something worked out of it, and else once that has been done.
func BenchmarkLongEveningPages(b *testing.B) {
	e, _ := longEvening(b)
	for _, path := range []string{"book/B6", "findings", "graph", "evening", "moment?entry=20000", "beside?a=B5&b=B6"} {
		first := time.Duration(0)
		b.Run(path, func(b *testing.B) {
			turn := func() {
				answer, err := http.Get(e.at + "/s/long/" + path)
				require.NoError(b, err)
				require.Equal(b, http.StatusOK, answer.StatusCode)
				_, err = io.Copy(io.Discard, answer.Body)
				require.NoError(b, err)
				require.NoError(b, answer.Body.Close())
			}
			if first == 0 {
				began := time.Now()
				turn()
				first = time.Since(began)
			}
			for b.Loop() {
				turn()
			}
			b.ReportMetric(float64(first.Milliseconds()), "first-ms")
		})
	}
}
