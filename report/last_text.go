package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// lastLines is how many lines the answer in the cab may take: a screenful.
const lastLines = 24

// Text writes the answer for a terminal, in a screenful: the verdict, both
// sides of each pass, and as many places as there is room for.
func (l *Last) Text(w io.Writer) error {
	u := l.Units
	var b bytes.Buffer
	words.Wrap(&b, strings.Join(l.verdict(u), " "))
	var end bytes.Buffer
	if len(l.Passes) > 0 {
		end.WriteByte('\n')
		words.Wrap(&end, l.leftWords(u))
	}
	room := func() int {
		return lastLines - bytes.Count(b.Bytes(), []byte("\n")) - bytes.Count(end.Bytes(), []byte("\n"))
	}
	for i := range l.Passes {
		p := &l.Passes[i]
		if room() < 6 { // a pass takes four lines, and what is left out one
			fmt.Fprintf(&b, "\n%s more in last.html\n", words.Count(len(l.Passes)-i, "pass"))
			break
		}
		b.WriteByte('\n')
		fmt.Fprintf(&b, "%s\n", words.Plain(l.passWords(u, p), words.Width))
		words.Hang(&b, "  Left:  ", l.sideWords(u, &p.Left))
		words.Hang(&b, "  Right: ", l.sideWords(u, &p.Right))
	}
	var places []string
	for _, g := range l.gaps() {
		text := gapWords(u, g.pass.Pass, g.gap, g.side)
		if len(l.Passes) > 1 {
			text = fmt.Sprintf("Pass %d, %s", g.pass.Pass.ID, text)
		}
		places = append(places, words.Capital(text))
	}
	var open []string
	for _, o := range l.openings() {
		open = append(open, words.Capital(l.openingWords(u, &o)))
	}
	groups := [][]string{places, open}
	titles := []string{"Go back for", l.headlandTitle()}
	if l.headlandJust() {
		groups[0], groups[1], titles[0], titles[1] = open, places, titles[1], titles[0]
	}
	for i, lines := range groups {
		share := room()
		if i == 0 && len(groups[1]) > 0 {
			share = max(share/2, share-2-len(groups[1])) // leave the other its part
		}
		listed(&b, titles[i], lines, share)
	}
	b.Write(end.Bytes())
	_, err := w.Write(b.Bytes())
	return err
}

// listed writes a list with a title in so many lines, a blank one among them.
func listed(b *bytes.Buffer, title string, lines []string, room int) {
	if len(lines) == 0 || room < 3 {
		return
	}
	fmt.Fprintf(b, "\n%s\n", title)
	room -= 2
	for i, line := range lines {
		if i == room-1 && len(lines) > room {
			fmt.Fprintf(b, "  and %d more, shorter; see last.html\n", len(lines)-i)
			return
		}
		fmt.Fprintf(b, "  %s\n", words.Plain(line, words.Width-2))
	}
}

// passWords name a pass: "Pass 23, drill: 1,240 ft, ended 14:03", where the reader lives.
func (l *Last) passWords(u quantity.Units, p *LastPass) string {
	s := fmt.Sprintf("Pass %d, %s: %s", p.Pass.ID, l.machineName(p.Pass.Machine), u.Length(p.Pass.Length))
	if p.Pass.Headland {
		s += ", a headland pass"
	}
	if l.clock(p.Pass) {
		s += ", ended " + words.TimeOfDay(l.local(p.Pass.End), l.local(p.Pass.End))
	}
	return s
}

// LastSchema names the layout of last.json.
const LastSchema = "lapwing/last/1"

type lastSummary struct {
	Schema    string            `json:"schema"`
	Run       string            `json:"run"`
	Field     string            `json:"field"`
	Tolerance metres            `json:"tolerance_m"`
	Passes    []lastPassSummary `json:"passes"`
	Headland  lastHeadland      `json:"headland"`
	Remainder squareMetres      `json:"remainder_m2"`
	Skip      squareMetres      `json:"skip_m2"`
	Warnings  []summaryWarning  `json:"warnings"`
}

type lastPassSummary struct {
	ID      int             `json:"id"`
	Machine string          `json:"machine"`
	Kind    string          `json:"kind"`
	Length  metres          `json:"length_m"`
	Joined  bool            `json:"joined"`
	Left    lastSeamSummary `json:"left"`
	Right   lastSeamSummary `json:"right"`
}

type lastSeamSummary struct {
	Beside    metres           `json:"beside_m"`
	AtEdge    metres           `json:"at_edge_m"`
	Alone     metres           `json:"alone_m"`
	Open      metres           `json:"open_m"`
	Mean      metres           `json:"lap_mean_m"`
	WidestLap metres           `json:"lap_max_m"`
	WidestGap metres           `json:"gap_max_m"`
	Gaps      []lastGapSummary `json:"gaps"`
}

type lastGapSummary struct {
	From   metres  `json:"from_back_m"`
	To     metres  `json:"to_back_m"`
	Widest metres  `json:"gap_max_m"`
	Lon    degrees `json:"lon"`
	Lat    degrees `json:"lat"`
}

type lastHeadland struct {
	Closed   bool          `json:"closed"`
	Open     metres        `json:"open_m"`
	Unlogged metres        `json:"unlogged_m"`
	Openings []lastOpening `json:"openings"`
}

type lastOpening struct {
	Length   metres  `json:"length_m"`
	Widest   metres  `json:"standoff_max_m"`
	Lon      degrees `json:"lon"`
	Lat      degrees `json:"lat"`
	Distance metres  `json:"distance_m"`
	Bearing  figure  `json:"bearing_deg"`
}

// Summary writes last.json: SI units.
func (l *Last) Summary(w io.Writer) error {
	g, e := l.Map.Ground, l.Map.Headland.Edge
	s := lastSummary{
		Schema: LastSchema, Run: l.Run, Field: l.Map.Field.Name, Tolerance: metres(e.Tolerance),
		Passes: []lastPassSummary{}, Headland: lastHeadland{Closed: e.Length > 0 && e.Open == 0, Open: metres(e.Open), Unlogged: metres(e.Unlogged), Openings: []lastOpening{}},
		Remainder: squareMetres(g.Remainder), Skip: squareMetres(g.Skip - g.Remainder), Warnings: summaryWarnings(l.warnings()),
	}
	for i := range l.Passes {
		p := &l.Passes[i]
		s.Passes = append(s.Passes, lastPassSummary{
			ID: p.Pass.ID, Machine: l.machineName(p.Pass.Machine), Kind: passKind(p.Pass), Length: metres(p.Pass.Length),
			Joined: p.Left.Beside+p.Right.Beside > 0 && p.Left.Open+p.Right.Open == 0,
			Left:   l.seamSummary(p.Pass, &p.Left), Right: l.seamSummary(p.Pass, &p.Right),
		})
	}
	if len(l.Passes) > 0 {
		for _, o := range l.openings() {
			at := l.Map.Field.Frame.ToEarth(o.At)
			d, bearing := coverage.Bearing(l.Passes[0].Stands, o.At)
			s.Headland.Openings = append(s.Headland.Openings, lastOpening{metres(o.Length), metres(o.Max), degrees(at.Lon), degrees(at.Lat), metres(d), hundredths(bearing)})
		}
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(s)
}

func (l *Last) seamSummary(p *coverage.Pass, s *coverage.Seam) lastSeamSummary {
	out := lastSeamSummary{
		Beside: metres(s.Beside), AtEdge: metres(s.AtEdge), Alone: metres(s.Alone), Open: metres(s.Open), Mean: metres(s.Mean),
		WidestLap: metres(s.WidestLap), WidestGap: metres(s.WidestGap), Gaps: []lastGapSummary{},
	}
	for _, g := range s.Gaps {
		at := l.Map.Field.Frame.ToEarth(g.At)
		out.Gaps = append(out.Gaps, lastGapSummary{metres(p.Length - g.From), metres(p.Length - g.To), metres(g.Widest), degrees(at.Lon), degrees(at.Lat)})
	}
	return out
}
