package last

import (
	"bytes"
	"fmt"
	"io"
	"strings"

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
	s := fmt.Sprintf("Pass %d, %s: %s", p.Pass.ID, words.Name(d.MachineName(p.Pass.Machine)), u.Length(p.Pass.Length))
	if p.Pass.Headland {
		s += ", a headland pass"
	}
	if d.HasClock(p.Pass) {
		s += ", ended " + words.TimeOfDay(d.Local(p.Pass.End), d.Local(p.Pass.End))
	}
	return s
}
