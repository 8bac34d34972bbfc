//go:build !js

// A page in a browser keeps pages, no assessments: without CBOR the engine that it
// carries is a twentieth smaller.

package assess

import (
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/fxamacker/cbor/v2"

	"lapwing/coverage"
)

// storedSchema is that of [Assessment.Encode]. It changes whenever a field of an
// assessment or of anything in it does: an older one is measured again, never
// guessed at.
const storedSchema = "lapwing/stored-assessment/5"

// storedBefore is the schema before, which books hold: it is the same but for the doubts of
// skips and overlaps, of which it tells none.
const storedBefore = "lapwing/stored-assessment/4"

// A stored is an assessment as it is written. Several products mostly lie on one
// map: each map is written once, and what lies on it says which.
type stored struct {
	Schema     string
	Zone       string // name in the IANA database; "" for none
	Assessment Assessment
	Maps       []*coverage.Map
	Lies       []int // for each of [Assessment.maps], its index in Maps; -1 for none
}

// maps returns where the assessment holds a map, always in the same order.
func (a *Assessment) maps() []**coverage.Map {
	out := []**coverage.Map{&a.Map}
	for i := range a.Accounts {
		account := &a.Accounts[i]
		out = append(out, &account.Map, &account.Product.Map)
		if account.Logged != nil {
			out = append(out, &account.Logged.Map)
		}
	}
	return out
}

// detached returns a copy of the assessment whose maps can be set without
// setting those of a.
func (a *Assessment) detached() Assessment {
	out := *a
	reckoning := *a.Reckoning
	out.Reckoning = &reckoning
	reckoning.Accounts = append(reckoning.Accounts[:0:0], a.Accounts...)
	for i := range reckoning.Accounts {
		if logged := reckoning.Accounts[i].Logged; logged != nil {
			copied := *logged
			reckoning.Accounts[i].Logged = &copied
		}
	}
	return out
}

// Encode writes all of the assessment: [Decode] makes one of it that gives the
// same files to the byte. The bytes are CBOR (RFC 8949), deterministic as its
// section 4.2.1 asks, in gzip; the same assessment gives the same bytes.
func (a *Assessment) Encode(w io.Writer) error {
	s := stored{Schema: storedSchema, Assessment: a.detached()}
	if a.Zone != nil {
		s.Zone, s.Assessment.Zone = a.Zone.String(), nil
	}
	place := map[*coverage.Map]int{nil: -1}
	for _, m := range s.Assessment.maps() {
		at, known := place[*m]
		if !known {
			at = len(s.Maps)
			place[*m] = at
			s.Maps = append(s.Maps, *m)
		}
		s.Lies = append(s.Lies, at)
		*m = nil
	}
	options := cbor.CoreDetEncOptions()
	options.Time = cbor.TimeRFC3339Nano
	mode, err := options.EncMode()
	if err != nil {
		return err
	}
	packed := gzip.NewWriter(w)
	if err := mode.NewEncoder(packed).Encode(&s); err != nil {
		return err
	}
	return packed.Close()
}

// Decode reads what [Assessment.Encode] wrote. What another version of the
// program wrote in another shape is an error that says so.
func Decode(r io.Reader) (*Assessment, error) {
	unpacked, err := gzip.NewReader(r)
	if err != nil {
		return nil, fmt.Errorf("stored assessment: %w", err)
	}
	options := cbor.DecOptions{MaxArrayElements: 1<<31 - 1, MaxMapPairs: 1<<31 - 1}
	mode, err := options.DecMode()
	if err != nil {
		return nil, err
	}
	// All of it at once: a decoder of a stream looks through all that it has so far,
	// from the beginning, whenever more has come.
	text, err := io.ReadAll(unpacked)
	if err != nil {
		return nil, fmt.Errorf("stored assessment: %w", err)
	}
	var s stored
	if err := mode.Unmarshal(text, &s); err != nil {
		return nil, fmt.Errorf("stored assessment: %w", err)
	}
	if s.Schema != storedSchema && s.Schema != storedBefore {
		return nil, fmt.Errorf("found schema %q, want %q", s.Schema, storedSchema)
	}
	a := &s.Assessment
	if a.Reckoning == nil {
		return nil, errors.New("stored assessment: found no figures")
	}
	if s.Zone != "" {
		if a.Zone, err = time.LoadLocation(s.Zone); err != nil {
			return nil, fmt.Errorf("stored assessment: %w", err)
		}
	}
	maps := a.maps()
	if len(maps) != len(s.Lies) {
		return nil, fmt.Errorf("stored assessment: found %d places on maps, want %d", len(s.Lies), len(maps))
	}
	for i, at := range s.Lies {
		switch {
		case at >= len(s.Maps) || at < -1:
			return nil, fmt.Errorf("stored assessment: found map %d, want one below %d", at, len(s.Maps))
		case at >= 0:
			*maps[i] = s.Maps[at]
		}
	}
	if a.Map == nil {
		return nil, errors.New("stored assessment: found no map")
	}
	return a, nil
}
