package serve

import (
	"bufio"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// listen is a page that reads the lines of events; it has begun to listen.
func listen(t *testing.T, e *Events) *bufio.Reader {
	t.Helper()
	server := httptest.NewServer(e)
	t.Cleanup(server.Close)
	r, err := http.Get(server.URL)
	require.NoError(t, err)
	t.Cleanup(func() { _ = r.Body.Close() }) // the server waits for it
	assert.Equal(t, "text/event-stream", r.Header.Get("Content-Type"))
	lines := bufio.NewReader(r.Body)
	assert.Equal(t, ": listening\n\n", next(t, lines))
	return lines
}

// next reads up to the next empty line.
func next(t *testing.T, lines *bufio.Reader) (text string) {
	t.Helper()
	for !strings.HasSuffix(text, "\n\n") {
		line, err := lines.ReadString('\n')
		require.NoError(t, err)
		text += line
	}
	return text
}

func TestEvents(t *testing.T) {
	var e Events
	a, b := listen(t, &e), listen(t, &e)
	e.Tell(map[string]string{"found": "day 1\n.csv"})
	e.Tell(map[string]bool{"changed": true})
	for _, page := range []*bufio.Reader{a, b} {
		assert.Equal(t, "data: {\"found\":\"day 1\\n.csv\"}\n\n", next(t, page))
		assert.Equal(t, "data: {\"changed\":true}\n\n", next(t, page))
	}
}

// A page that reads nothing is cut off after a while, and holds up nobody.
func TestSlowPage(t *testing.T) {
	var e Events
	page := make(chan []byte, behind)
	e.pages = map[chan []byte]bool{page: true}
	began := time.Now()
	for range behind + 10 {
		e.Tell(map[string]bool{"changed": true})
	}
	assert.Less(t, time.Since(began), time.Second)
	assert.Empty(t, e.pages)
	assert.Len(t, page, behind)
	for range behind {
		<-page
	}
	_, open := <-page
	assert.False(t, open)
}
