package web_test

import (
	"encoding/json"
	"io"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/web/sitting"
)

// G4: what a lesson asks beyond the bells can be asked without leaving a trace; each begins on a bench of its own, and a
// lesson that does not exist is refused in words. G13: beside each rule that a lesson stands on the ladder says how well
// it is known.
func TestLessonTellsHowItStands(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	begin := func(no string) (int, string) {
		answer, err := http.Post(s.http.URL+"/lessons/"+no, "", nil)
		require.NoError(t, err)
		text, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		return answer.StatusCode, string(text)
	}
	status, text := begin("10")
	require.Equal(t, http.StatusOK, status, text)
	var begun struct{ Sitting, Box string }
	require.NoError(t, json.Unmarshal([]byte(text), &begun))
	require.Equal(t, "OS", begun.Box)
	_, text = s.get("/s/" + begun.Sitting + "/lesson/OS")
	var now struct {
		Goals []struct{ Good, Of int }
		Over  bool
		Next  int
	}
	require.NoError(t, json.Unmarshal([]byte(text), &now), text)
	require.Len(t, now.Goals, 1)
	require.Equal(t, 3, now.Goals[0].Of)
	require.False(t, now.Over)
	require.Equal(t, 11, now.Next)
	for _, no := range []string{"16", "0", "x"} {
		status, text := begin(no)
		require.Equal(t, http.StatusNotFound, status)
		require.Contains(t, text, "/lessons")
	}
	for path, status := range map[string]int{"/s/evening/lesson/OS": 404, "/s/lesson-10-77/box/OS": 404, "/s/" + begun.Sitting + "/box/OS": 200} {
		answer, _ := s.get(path)
		require.Equal(t, status, answer.StatusCode, path)
	}
	_, ladder := s.get("/lessons")
	require.Contains(t, ladder, "<b>R03</b>")
	require.Contains(t, ladder, "from memory")
}

// A program serves so many lessons at a time, and says so in words when every bench is taken.
func TestEveryBenchIsTaken(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	last := 0
	for n := 0; n < 60; n++ {
		answer, err := http.Post(s.http.URL+"/lessons/1", "", nil)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		if last = answer.StatusCode; last != http.StatusOK {
			require.Equal(t, 40, n, "benches")
			break
		}
	}
	require.Equal(t, http.StatusServiceUnavailable, last)
}
