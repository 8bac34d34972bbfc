package taskdata

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// FuzzTaskXML reads any text as a TASKDATA.XML beside a whole log: it is a
// set, or one clear line.
func FuzzTaskXML(f *testing.F) {
	for _, text := range []string{
		setText(barleyField, tractor, drill, coupledTask), setText(oneTask), setText(`<XFR A="PFD00001" B="1"/>`, `<PFD A="PFD1"/>`),
		`<TIM A="" D="4"><PTN A="" B=""/></TIM>`, "<ISO11783_TaskData>", "", "\xff\xfe", `<!DOCTYPE x [<!ENTITY a "b">]><ISO11783_TaskData>&a;`,
		setText(`<TSK A="TSK1"><GRD G="GRD00001"/><TLG A="../x"/></TSK>`),
		setText(`<DVC A="DVC1"><DET A="DET1" B="1" C="2" F="1"><DOR A="1"/></DET><DPT A="1" B="0086" C="-9"/></DVC>`),
	} {
		f.Add([]byte(text))
	}
	dir := f.TempDir()
	sheaf{f, dir}.log("TLG00001", headerText("008D DET2", "00A1 DET2", "0043 DET1"), rows([]value{{0, 1}, {1, 21}, {2, 8000}}, nil, []value{{0, 0}}))
	f.Fuzz(func(t *testing.T, text []byte) {
		if err := os.WriteFile(filepath.Join(dir, "TASKDATA.XML"), text, 0o644); err != nil {
			t.Fatal(err)
		}
		set, err := readAt(dir)
		if err != nil {
			oneLine(t, err)
			return
		}
		for i := range set.Tasks {
			for _, track := range set.Tracks(&set.Tasks[i], nil) {
				check(t, track)
			}
		}
	})
}

// FuzzTimeLog reads any bytes by any header.
func FuzzTimeLog(f *testing.F) {
	f.Add(headerText("008D DET2", "00A1 DET2"), rows([]value{{0, 1}, {1, 21}}, nil))
	f.Add(headerText(), []byte{255})
	f.Add(`<TIM A="" D="4"><PTN A="" B="" C="" D="" E="" F="" G="" H="" I=""/><DLV A="0043" B="9000" C="DET2"/></TIM>`, make([]byte, 90))
	f.Add(`<TIM D="4"><PTN A="" B="" D="4"/></TIM>`, make([]byte, 18))
	set := newSheaf(f).set(tractor, drill, coupledTask).read()
	f.Fuzz(func(t *testing.T, header string, records []byte) {
		h, err := readHeader("h", []byte(header))
		if err != nil {
			oneLine(t, err)
			return
		}
		log, _, err := decode("b", records, h)
		if err != nil {
			oneLine(t, err)
			return
		}
		if len(log.Fixes)*(h.size+1) > len(records) {
			t.Fatalf("%d fixes in %d bytes", len(log.Fixes), len(records))
		}
		values := 0
		for _, v := range log.Values {
			values += len(v.Raw)
		}
		if values > len(records)/valueSize+mostValues {
			t.Fatalf("%d values in %d bytes", values, len(records))
		}
		task := set.Tasks[0]
		task.Logs = []*Log{log}
		for _, track := range set.Tracks(&task, nil) {
			check(t, track)
		}
	})
}

func oneLine(t *testing.T, err error) {
	var wrong *SyntaxError
	if !errors.As(err, &wrong) || strings.Contains(err.Error(), "\n") {
		t.Fatalf("not one clear line: %q", err)
	}
}

// check holds a track to what its doc says.
func check(t *testing.T, track Track) {
	n := len(track.Fixes)
	if track.Working != nil && len(track.Working) != n || track.State != nil && len(track.State) != n {
		t.Fatal("not one state for each fix")
	}
	for i, id := range track.State {
		if int(id) >= len(track.States) || track.Working[i] && !track.States[id].Any() {
			t.Fatalf("fix %d: state %d", i, id)
		}
	}
	for i, s := range track.Bar.Sections {
		if !(s.Left < s.Right) || i > 0 && s.Left < track.Bar.Sections[i-1].Left {
			t.Fatalf("section %d from %v to %v", i, s.Left, s.Right)
		}
	}
}
