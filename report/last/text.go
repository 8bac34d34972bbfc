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
	words.Wrap(&b, d.Headline(u)+".")
	if also := d.Also(u); len(also) > 0 {
		words.Wrap(&b, strings.Join(also, " "))
	}
	var end bytes.Buffer
	if len(d.Passes) > 0 {
		end.WriteByte('\n')
		words.Wrap(&end, d.stillWords(u))
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
	var lines []string
	for _, at := range d.places() {
		var line bytes.Buffer
		words.Hang(&line, fmt.Sprintf("%5s  ", at.label), at.says(u))
		lines = append(lines, line.String())
	}
	listed(&b, d.placesTitle(), lines, room())
	if s := d.Beyond(u); s != "" && room() > 3 {
		b.WriteByte('\n')
		words.Wrap(&b, s)
	}
	b.Write(end.Bytes())
	_, err := w.Write(b.Bytes())
	return err
}

// listed writes a list with a title in so many lines, a blank one among them.
func listed(b *bytes.Buffer, title string, items []string, room int) {
	if len(items) == 0 || room < 4 {
		return
	}
	fmt.Fprintf(b, "\n%s\n", title)
	room -= 2
	for i, item := range items {
		high := strings.Count(item, "\n")
		if more := i+1 < len(items); high > room || more && high+1 > room {
			fmt.Fprintf(b, "  and %d more; see last.html\n", len(items)-i)
			return
		}
		b.WriteString(item)
		room -= high
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
