package last

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// lines is how many lines the answer in the cab may take: a screenful.
const lines = 24

// Text writes the answer for a terminal, in a screenful: the verdict, both
// sides of each pass, and as many places as there is room for.
func (d *Document) Text(w io.Writer) error {
	u := d.Units
	var b bytes.Buffer
	words.Wrap(&b, strings.Join(d.verdict(u), " "))
	var end bytes.Buffer
	if len(d.Passes) > 0 {
		end.WriteByte('\n')
		words.Wrap(&end, d.leftWords(u))
	}
	room := func() int {
		return lines - bytes.Count(b.Bytes(), []byte("\n")) - bytes.Count(end.Bytes(), []byte("\n"))
	}
	for i := range d.Passes {
		p := &d.Passes[i]
		if room() < 6 { // a pass takes four lines, and what is left out one
			fmt.Fprintf(&b, "\n%s more in last.html\n", words.Count(len(d.Passes)-i, "pass"))
			break
		}
		b.WriteByte('\n')
		fmt.Fprintf(&b, "%s\n", words.Plain(d.passWords(u, p), words.Width))
		words.Hang(&b, "  Left:  ", d.sideWords(u, &p.Left))
		words.Hang(&b, "  Right: ", d.sideWords(u, &p.Right))
	}
	var places []string
	for _, g := range d.gaps() {
		text := gapWords(u, g.pass.Pass, g.gap, g.side)
		if len(d.Passes) > 1 {
			text = fmt.Sprintf("Pass %d, %s", g.pass.Pass.ID, text)
		}
		places = append(places, words.Capital(text))
	}
	var open []string
	for _, o := range d.openings() {
		open = append(open, words.Capital(d.openingWords(u, &o)))
	}
	groups := [][]string{places, open}
	titles := []string{"Go back for", d.headlandTitle()}
	if d.headlandJust() {
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
func (d *Document) passWords(u quantity.Units, p *Pass) string {
	s := fmt.Sprintf("Pass %d, %s: %s", p.Pass.ID, d.MachineName(p.Pass.Machine), u.Length(p.Pass.Length))
	if p.Pass.Headland {
		s += ", a headland pass"
	}
	if d.HasClock(p.Pass) {
		s += ", ended " + words.TimeOfDay(d.Local(p.Pass.End), d.Local(p.Pass.End))
	}
	return s
}

// Schema names the layout of last.json.
const Schema = "lapwing/last/1"

type summary struct {
	Schema    string                  `json:"schema"`
	Run       string                  `json:"run"`
	Field     string                  `json:"field"`
	Tolerance assess.Metres           `json:"tolerance_m"`
	Passes    []passSummary           `json:"passes"`
	Headland  headland                `json:"headland"`
	Remainder assess.SquareMetres     `json:"remainder_m2"`
	Skip      assess.SquareMetres     `json:"skip_m2"`
	Warnings  []assess.WarningSummary `json:"warnings"`
}

type passSummary struct {
	ID      int           `json:"id"`
	Machine string        `json:"machine"`
	Kind    string        `json:"kind"`
	Length  assess.Metres `json:"length_m"`
	Joined  bool          `json:"joined"`
	Left    seamSummary   `json:"left"`
	Right   seamSummary   `json:"right"`
}

type seamSummary struct {
	Beside    assess.Metres `json:"beside_m"`
	AtEdge    assess.Metres `json:"at_edge_m"`
	Alone     assess.Metres `json:"alone_m"`
	Open      assess.Metres `json:"open_m"`
	Mean      assess.Metres `json:"lap_mean_m"`
	WidestLap assess.Metres `json:"lap_max_m"`
	WidestGap assess.Metres `json:"gap_max_m"`
	Gaps      []gapSummary  `json:"gaps"`
}

type gapSummary struct {
	From   assess.Metres  `json:"from_back_m"`
	To     assess.Metres  `json:"to_back_m"`
	Widest assess.Metres  `json:"gap_max_m"`
	Lon    assess.Degrees `json:"lon"`
	Lat    assess.Degrees `json:"lat"`
}

type headland struct {
	Closed   bool          `json:"closed"`
	Open     assess.Metres `json:"open_m"`
	Unlogged assess.Metres `json:"unlogged_m"`
	Openings []opening     `json:"openings"`
}

type opening struct {
	Length   assess.Metres  `json:"length_m"`
	Widest   assess.Metres  `json:"standoff_max_m"`
	Lon      assess.Degrees `json:"lon"`
	Lat      assess.Degrees `json:"lat"`
	Distance assess.Metres  `json:"distance_m"`
	Bearing  assess.Figure  `json:"bearing_deg"`
}

// JSON writes last.json: SI units.
func (d *Document) JSON(w io.Writer) error {
	g, e := d.Map.Ground, d.Map.Headland.Edge
	s := summary{
		Schema: Schema, Run: d.Run, Field: d.Map.Field.Name, Tolerance: assess.MetresOf(e.Tolerance),
		Passes: []passSummary{}, Headland: headland{Closed: e.Length > 0 && e.Open == 0, Open: assess.MetresOf(e.Open), Unlogged: assess.MetresOf(e.Unlogged), Openings: []opening{}},
		Remainder: assess.SquareMetres(g.Remainder), Skip: assess.SquareMetres(g.Skip - g.Remainder), Warnings: assess.WarningsOf(d.AllWarnings()),
	}
	for i := range d.Passes {
		p := &d.Passes[i]
		s.Passes = append(s.Passes, passSummary{
			ID: p.Pass.ID, Machine: d.MachineName(p.Pass.Machine), Kind: assess.PassKind(p.Pass), Length: assess.MetresOf(p.Pass.Length),
			Joined: p.Left.Beside+p.Right.Beside > 0 && p.Left.Open+p.Right.Open == 0,
			Left:   d.seamSummary(p.Pass, &p.Left), Right: d.seamSummary(p.Pass, &p.Right),
		})
	}
	if len(d.Passes) > 0 {
		for _, o := range d.openings() {
			at := d.Map.Field.Frame.ToEarth(o.At)
			distance, bearing := coverage.Bearing(d.Passes[0].Stands, o.At)
			s.Headland.Openings = append(s.Headland.Openings, opening{assess.MetresOf(o.Length), assess.MetresOf(o.Max), assess.DegreesOf(at.Lon), assess.DegreesOf(at.Lat), assess.MetresOf(distance), assess.Hundredths(bearing)})
		}
	}
	return assess.WriteJSON(w, s)
}

func (d *Document) seamSummary(p *coverage.Pass, s *coverage.Seam) seamSummary {
	out := seamSummary{
		Beside: assess.MetresOf(s.Beside), AtEdge: assess.MetresOf(s.AtEdge), Alone: assess.MetresOf(s.Alone), Open: assess.MetresOf(s.Open), Mean: assess.MetresOf(s.Mean),
		WidestLap: assess.MetresOf(s.WidestLap), WidestGap: assess.MetresOf(s.WidestGap), Gaps: []gapSummary{},
	}
	for _, g := range s.Gaps {
		at := d.Map.Field.Frame.ToEarth(g.At)
		out.Gaps = append(out.Gaps, gapSummary{assess.MetresOf(p.Length - g.From), assess.MetresOf(p.Length - g.To), assess.MetresOf(g.Widest), assess.DegreesOf(at.Lon), assess.DegreesOf(at.Lat)})
	}
	return out
}
