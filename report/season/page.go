package season

import (
	_ "embed"
	"fmt"
	"io"

	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed season.html
var seasonHTML string

var seasonPage = page.NewTemplate(seasonHTML)

// Page writes season.html: the season book's index, one file that loads nothing
// but the entries its reader opens.
func (s *Book) Page(w io.Writer) error {
	p := &contents{
		Base:   page.New(s.Units, s.title(), "all fields", s.run()),
		Failed: s.failureTable(),
		None:   s.sentences(s.answer),
	}
	for i, y := range s.seasons() {
		part := y.page()
		if i == 0 { // what failed may still be put right
			part.Last, part.Answer, part.Failed = true, p.None, p.Failed
		}
		p.Seasons = append(p.Seasons, part)
	}
	p.Warnings, p.Notes = s.warnings(), s.notes()
	return seasonPage.Execute(w, p)
}

// The contents are everything on season.html as it is to be read.
type contents struct {
	page.Base
	Failed  page.Table
	None    words.Text // said where no field could be assessed
	Seasons []seasonPart
}

// A seasonPart is one season of the page. The address of the page says which one is
// shown, "#season-2025"; the last one where it says none.
type seasonPart struct {
	Name, ID                    string
	Last                        bool
	Others                      []seasonLink // all seasons, where there are several
	Answer                      words.Text
	Block                       []page.Entry
	Failed                      page.Table
	Fields, Machines, Operators page.Table
	FieldsID, WhereID, PagesID  string // of the heads
	MachinesID, OperatorsID     string
	ChangeID, AgainID           string
	Bars                        *bars
	Entries                     []stampLine
	Change                      page.Table
	Again                       *comeBack
}

// A seasonLink is one line of the switch between seasons.
type seasonLink struct {
	Name, ID string
	Here     bool
}

func (y *year) sectionID() string { return fmt.Sprintf("season-%d", y.of) }

func (y *year) page() seasonPart {
	p := seasonPart{
		Name: y.name(), ID: y.sectionID(),
		Answer: y.sentences(y.answer), Block: y.titleBlock(), Bars: y.bars(),
		Fields: y.fieldTable(), Change: y.changeTable(), Again: y.comeBack(),
		FieldsID: y.id("fields-h"), WhereID: y.id("where-h"), PagesID: y.id("pages-h"), MachinesID: y.id("machines-h"),
		OperatorsID: y.id("operators-h"), ChangeID: y.id("change-h"), AgainID: y.id("again-h"),
	}
	if y.NoOperators {
		p.Machines = y.tallyTable("machines", "Machine", "", y.machineTallies(), nil)
	} else {
		pages := y.pagesOf()
		p.Machines = y.tallyTable("machines", "Machine", "Operators", y.machineTallies(), pages)
		p.Operators = y.tallyTable("operators", "Operator", "Machines", y.operatorTallies(), pages)
	}
	if seasons := y.seasons(); len(seasons) > 1 {
		for _, o := range seasons {
			p.Others = append(p.Others, seasonLink{o.name(), o.sectionID(), o.of == y.of})
		}
	}
	for _, entry := range y.entries {
		p.Entries = append(p.Entries, y.stamp(entry))
	}
	return p
}

// A stampLine is an entry in the index.
type stampLine struct {
	Number int
	Name   string
	Called string // the name where no element may stand
	Link   string
	Mend   string // its mend plan and its printed page; "" where there is none
	Print  string
	Map    chart.SmallMap
	Lines  []page.Entry
}

func (y *year) stamp(entry *Entry) stampLine {
	out := stampLine{Number: entry.Number, Name: entry.Name(), Called: words.Name(entry.Name()), Link: entry.page(), Mend: entry.mendPlan(), Print: entry.printed(), Map: entry.sketch.Map}
	out.Map.Label = "Small map of " + words.Name(entry.Name()) + ", north up"
	out.Lines = []page.Entry{
		{Name: "Area", Text: words.Both(y.Units, func(u quantity.Units) string { return u.SquareMetres(entry.Field.Area.Float()) })},
		{Name: "Skips", Text: words.Both(y.Units, func(u quantity.Units) string {
			if entry.skips() == 0 && entry.skipped() == 0 {
				return "none"
			}
			return fmt.Sprintf("%d, %s", entry.skips(), u.SquareMetres(entry.skipped()))
		})},
		{Name: "Edge open", Text: words.Both(y.Units, func(u quantity.Units) string {
			switch {
			case entry.Field.Worked:
				return "no boundary"
			case entry.open() == 0:
				return "none"
			}
			return u.Metres(entry.open())
		})},
		{Name: "Worked twice", Text: words.Both(y.Units, func(u quantity.Units) string { return u.SquareMetres(entry.Ground.Excess.Float()) })},
	}
	if entry.unworked() > 0 {
		out.Lines = append(out.Lines, page.Entry{Name: "Not worked yet", Text: words.Both(y.Units, func(u quantity.Units) string { return u.SquareMetres(entry.unworked()) })})
	}
	return out
}

func (y *year) titleBlock() []page.Entry {
	t := y.total()
	out := []page.Entry{
		{Name: "Fields", Text: words.Same(fmt.Sprint(len(y.entries)))},
		{Name: "Area", Text: words.Both(y.Units, func(u quantity.Units) string { return u.SquareMetres(t.area) })},
		{Name: "Machines", Text: words.Same(fmt.Sprint(len(y.machineTallies())))},
	}
	if y.NoOperators {
		return out
	}
	named := 0
	for _, o := range y.operatorTallies() {
		if o.key != "" {
			named++
		}
	}
	return append(out, page.Entry{Name: "Operators named", Text: words.Same(fmt.Sprint(named))})
}

func (s *Book) warnings() []string {
	var out []string
	for _, entry := range s.Entries {
		if n := len(entry.Warnings); n > 0 {
			out = append(out, fmt.Sprintf("Field %d, %s: %s, told on its page.", entry.Number, words.Name(entry.Name()), words.Count(n, "warning")))
		}
	}
	return out
}

func (s *Book) notes() []string {
	notes := []string{
		"Fields are numbered through all seasons, the last one first, in the order of its list. Ground simply not worked yet is no skip. Where the job says no spacing of rows, a row is a foot wide.",
		"What going back would bring ranks a list where the job of each field with skips says what its crop and its products cost; else the ground does. It is the most it can bring: plants beside a skip make up for part of it.",
		"Efficiency is the new ground covered, by what the machine would cover at its working speed and full width in the same time in the field; stops and turns are in that time, the way between fields is not.",
		"Where two currencies are in one column, the column sorts by their bare sum.",
		"The small maps leave out patches under 10 m² (108 sq ft); the figures hold them.",
	}
	if len(s.Returns) > 0 {
		notes = append(notes, "Fields of two years are held to be one where they have the same name or half of the smaller lies in the other. Positions of two years differ by what their GNSS corrections differ, often a foot: a narrow skip may come back without being found.")
	}
	clockless := 0
	for _, entry := range s.Entries {
		if entry.Year() == 0 && len(entry.Passes) > 0 {
			clockless++
		}
	}
	if clockless > 0 {
		note := fmt.Sprintf("The logs of %s have no clock: no year, no hours, no comparison with other years.", words.Count(clockless, "field"))
		if _, last := s.years(); last > 0 {
			note += fmt.Sprintf(" They stand with the season of %d.", last)
		}
		notes = append(notes, note)
	}
	return notes
}
