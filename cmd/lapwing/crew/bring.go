package crew

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strconv"
)

// Reached is how far journals of a cab have come to a relay, in bytes by name.
type Reached struct {
	Sizes map[string]int64 `json:"sizes"`
}

// Bring brings a relay what it has not yet of a cab's own journals: open opens one. A link
// that breaks has brought what came.
func (c *Client) Bring(ctx context.Context, own *Listing, open func(Key) (*Opened, bool)) error {
	told, err := json.Marshal(own)
	if err != nil {
		return err
	}
	answer, err := c.send(ctx, http.MethodPut, []string{"journals.json"}, "", told)
	if err != nil {
		return err
	}
	var here Reached
	err = json.Unmarshal(answer, &here)
	if err != nil {
		return fmt.Errorf("it does not say what it has: %w", err)
	}
	for i := range own.Journals {
		e := &own.Journals[i]
		if err := c.bringOne(ctx, e, here.Sizes[e.Name], open); err != nil {
			return err
		}
	}
	return nil
}

// bringOne brings what follows a place of a journal, in pieces of whole records.
func (c *Client) bringOne(ctx context.Context, e *Entry, from int64, open func(Key) (*Opened, bool)) error {
	if from >= e.Size {
		return nil
	}
	j, ok := open(e.Key())
	if !ok {
		return nil
	}
	defer j.Close()
	if _, err := j.Seek(from, io.SeekStart); err != nil {
		return err
	}
	for from < e.Size {
		piece := make([]byte, min(mostAtOnce, e.Size-from))
		n, err := io.ReadFull(j, piece)
		if n == 0 && err != nil {
			return nil // it is no longer than that here
		}
		whole := piece[:bytes.LastIndexByte(piece[:n], '\n')+1]
		if len(whole) == 0 {
			return nil
		}
		_, err = c.send(ctx, http.MethodPost, []string{"journals", e.Cab, e.Name}, "from="+strconv.FormatInt(from, 10), whole)
		if err != nil {
			return err
		}
		from += int64(len(whole))
		if _, err := j.Seek(from, io.SeekStart); err != nil {
			return err
		}
	}
	return nil
}

// mostAtOnce is how much is brought at once: a minute at 10 Hz.
const mostAtOnce = 64 << 10

// send sends something, and returns what is answered.
func (c *Client) send(ctx context.Context, method string, to []string, query string, body []byte) ([]byte, error) {
	ctx, cancel := context.WithTimeoutCause(ctx, 4*c.stall, errStalled) // a slow link needs its time for a piece
	defer cancel()
	at := c.at.base.JoinPath(to...)
	at.RawQuery = query
	r, err := http.NewRequestWithContext(ctx, method, at.String(), bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	answer, err := c.do(r, http.StatusOK, http.StatusNoContent)
	if err != nil {
		return nil, cause(ctx, err)
	}
	defer answer.Body.Close()
	return io.ReadAll(io.LimitReader(answer.Body, MostListing))
}
