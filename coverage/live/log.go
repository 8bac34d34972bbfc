package live

import (
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/journal"
)

// A history is the records of one journal, in pieces, so that none is moved when
// there are more of them.
type history struct {
	pieces  [][]entry
	count   int
	columns [3]interned // as columns names them
}

// An entry is a record; the texts are codes of the columns.
type entry struct {
	fix  geo.Fix
	code [3]uint16
}

// columns are the columns of a journal that are no part of a fix, in their order.
var columns = [3]string{"machine", "working", "sections"}

// An interned is the texts of a column in the order in which they came first.
type interned struct {
	texts []string
	codes map[string]uint16
}

func (in *interned) code(text string) uint16 {
	code, known := in.codes[text]
	if !known {
		if in.codes == nil {
			in.codes = map[string]uint16{}
		}
		code = uint16(len(in.texts))
		in.texts = append(in.texts, text)
		in.codes[text] = code
	}
	return code
}

// pieceLen is how many records a piece of a history has. It decides nothing but memory: a
// piece is long beside a record and short beside a day.
const pieceLen = 4096

func (h *history) add(r *journal.Record) {
	if h.count%pieceLen == 0 {
		h.pieces = append(h.pieces, make([]entry, 0, pieceLen))
	}
	last := &h.pieces[len(h.pieces)-1]
	*last = append(*last, entry{r.Fix, [3]uint16{h.columns[0].code(r.Machine), h.columns[1].code(r.Working), h.columns[2].code(r.Sections)}})
	h.count++
}

// A snapshot is a history up to some record. Other goroutines may read it while the
// history goes on.
type snapshot struct {
	pieces [][]entry
	count  int
	texts  [3][]string
}

func (h *history) snapshot() snapshot {
	s := snapshot{count: h.count}
	for _, p := range h.pieces {
		s.pieces = append(s.pieces, p[:len(p):len(p)])
	}
	for k := range h.columns {
		texts := h.columns[k].texts
		s.texts[k] = texts[:len(texts):len(texts)]
	}
	return s
}

// log returns what the reader of logs gives for a journal of these records, of which
// it keeps the columns asked for.
func (s *snapshot) log(keep func(plain string) bool) (*gnsslog.Log, error) {
	// The reader makes a note of simulated fixes, and of nothing else that can stand in a
	// journal. So a journal of one simulated record gives the words of that note.
	const simulated = "2026-01-01T00:00:00Z,0,1,8,,,m,,,00000000\n"
	read, err := gnsslog.ReadCSV("journal", gnsslog.TextOf([]byte(journal.Header+simulated)), gnsslog.Options{Keep: keep})
	if err != nil {
		return nil, err
	}
	read.Fixes, read.Lines = make([]geo.Fix, 0, s.count), make([]int32, 0, s.count)
	var kept []int
	for i := range read.Columns {
		for k, name := range columns {
			if read.Columns[i].Name == name {
				kept = append(kept, k)
				read.Columns[i].Distinct, read.Columns[i].Codes = s.texts[k], make([]uint32, 0, s.count)
			}
		}
	}
	first, count := 0, 0
	for _, p := range s.pieces {
		for i := range p {
			if p[i].fix.Quality == geo.Simulated {
				if count++; count == 1 {
					first = len(read.Lines) + 2
				}
			}
			read.Fixes = append(read.Fixes, p[i].fix)
			read.Lines = append(read.Lines, int32(len(read.Lines)+2)) // the header is line 1
			for c, k := range kept {
				read.Columns[c].Codes = append(read.Columns[c].Codes, uint32(p[i].code[k]))
			}
		}
	}
	if count == 0 {
		read.Notes = nil
	}
	for i := range read.Notes {
		read.Notes[i].Line, read.Notes[i].Count = first, count
	}
	return read, nil
}
