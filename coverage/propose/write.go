package propose

import (
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"lapwing/coverage/job/spec"
	"lapwing/coverage/quantity"
	"lapwing/geo/source"
)

// Write writes the proposal as a job file that will stand in dir, with what
// was seen and what was guessed in comments.
func (p *Proposal) Write(w io.Writer, dir string) error {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# A job file for lapwing, made from what the files themselves tell.")
	line("# Lines with GUESS are worked out; read these first and put them right.")
	line("# Every quantity has its unit: 40 ft, 12 m, 10 in, 90 lb/ac, 800 USD/ton.")
	line("")
	line("field: %s", yamlText(p.Job.Fields[0].Name))
	line("# GUESS: the name of the file, or of its directory")
	switch {
	case p.Job.Fields[0].Worked:
		line("boundary: worked                # no boundary given: the outer edge of the worked ground stands in for it,")
		line("                                # so ground left out along the edge cannot be seen. A file is better.")
	case p.boundary() == "":
		line("# boundary: field.geojson       # not needed: the task set has it")
		line("# %s", p.boundarySeen())
	default:
		line("boundary: %s", yamlText(p.from(dir, p.boundary())))
		line("# %s", p.boundarySeen())
	}
	p.writeZone(line)
	line("")
	line("machines:")
	for i := range p.Job.Machines {
		p.writeMachine(line, i, dir)
	}
	p.writeRest(line)
	_, err := io.WriteString(w, b.String())
	return err
}

func (p *Proposal) boundarySeen() string {
	var m2 float64
	holes := 0
	for _, part := range p.Job.Fields[0].Boundary {
		m2 += part.Area().SquareMetres()
		holes += len(part.Holes)
	}
	at := p.middle()
	return fmt.Sprintf("seen: %s, %s, %.2f ac (%.2f ha), centre %.5f, %.5f (latitude, longitude)",
		countOf(len(p.Job.Fields[0].Boundary), "part", "parts"), countOf(holes, "hole", "holes"), m2/quantity.Acre, m2/quantity.Hectare, at.Lat, at.Lon)
}

func (p *Proposal) writeZone(line func(string, ...any)) {
	if p.zoneless == 0 {
		line("# time_zone: America/Denver     # not needed: the times in the logs say their zone")
		return
	}
	line("time_zone: %s", p.zone)
	line("# GUESS: %s carry no zone; %s.", countOf(p.zoneless, "time", "times"), p.zoneWhy)
}

func (p *Proposal) writeMachine(line func(string, ...any), i int, dir string) {
	m := &p.Job.Machines[i]
	line("  - name: %s", yamlText(m.Name))
	if m.Name == "machine 1" || len(p.Job.Machines) > 1 && !p.named(m.Name) {
		line("    # GUESS: the logs name no machine; call it what the crew does")
	}
	line("    # operator: name")
	var tracks []string
	logged := true
	for k := range m.Tracks {
		logged = logged && m.Tracks[k].WorkingLogged
		if path := p.pathOf(m.Tracks[k].File); !slices.Contains(tracks, path) {
			tracks = append(tracks, path)
		}
	}
	if p.width != "" {
		line("    implement:")
		line("      width: %s", p.width)
		line("      # %s.", guessed(p.widthWhy))
		line("      # openers: 48               # better, where you know them: openers x row_spacing is the working width")
		line("      # row_spacing: 10 in")
		if p.sections > 1 {
			line("      sections: %-17d # as many as the logs tell of, taken as equally wide", p.sections)
		} else {
			line("      # sections: 6               # parts of the bar that can be shut")
		}
		line("      mount: mounted              # GUESS. Towed bars cut corners: then say mount: towed, antenna_to_hitch: 2 m, hitch_to_bar: 9 m")
		line("      antenna_to_hitch: 0 m       # GUESS. Mounted: from the antenna back to the bar; turns and pass ends depend on it")
	} else {
		line("    # the implement is as the task set describes the device; `implement:` here would overrule it")
	}
	if logged {
		line("    working: logged               # seen: the logs say when it works")
	} else {
		line("    working: inferred             # GUESS: no log says when it works, so it is worked out from the motion;")
		line(`                                  # a rule such as "speed > 1 m/s" may do better`)
	}
	line("    tracks:")
	for _, path := range tracks {
		line("      - %s", yamlText(p.from(dir, path)))
		for _, l := range p.logs {
			if p.pathOf(l.File) == path {
				line("        # seen: %s", spec.OneLine(seen(l)))
			}
		}
	}
}

// guessed marks a reason that begins so.
func guessed(why string) string {
	if rest, ok := strings.CutPrefix(why, "a guess: "); ok {
		return "GUESS: " + rest
	}
	return "seen: " + why
}

// named reports whether a log says the name of a machine.
func (p *Proposal) named(machine string) bool {
	for _, l := range p.logs {
		names, _ := l.Machines()
		if strings.EqualFold(l.By.Name(), machine) || slices.ContainsFunc(names, func(v string) bool { return strings.EqualFold(strings.TrimSpace(v), machine) }) {
			return true
		}
	}
	return false
}

// pathOf returns which of the paths given a log is of.
func (p *Proposal) pathOf(file string) string {
	for _, path := range p.tracks() {
		if source.Shown(path) == file {
			return path
		}
	}
	for _, path := range p.tracks() {
		if strings.HasPrefix(file, path) {
			return path
		}
	}
	return file
}

func (p *Proposal) writeRest(line func(string, ...any)) {
	line("")
	line("headland:")
	line("  rounds: 1                       # GUESS: rounds worked along the boundary")
	line("  lap: 0 ft")
	line("# edge_allowance: 0 ft            # a strip along the boundary left on purpose")
	line("")
	line("# What it puts down, for pounds and money; take the # away and put your own.")
	line("# products:")
	line("#   - {name: seed, rate: 90 lb/ac, price: 0.25 USD/lb}")
	line("#   - {name: anhydrous ammonia, analysis: 82-0-0, rate: 70 lb N/ac, price: 800 USD/ton}")
	line("# crop: {yield: 45 bu/ac, bushel: 60 lb, price: 6 USD/bu}")
}

// plainYAML is text that means itself in YAML without quotes.
var plainYAML = regexp.MustCompile(`^(\.\.?/)*[A-Za-z][A-Za-z0-9_./()-]*( [A-Za-z0-9_./()-]+)*$`)

// yamlText writes a text as YAML, in quotes where it needs them.
func yamlText(s string) string {
	switch strings.ToLower(s) {
	case "true", "false", "null", "yes", "no", "on", "off", "y", "n", spec.Worked:
	default:
		if plainYAML.MatchString(s) {
			return s
		}
	}
	quoted, err := json.Marshal(s) // YAML takes JSON's strings
	if err != nil {
		return `""`
	}
	return string(quoted)
}
