//go:build geos

package coverage_test

import (
	"flag"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"
	"text/tabwriter"
	"time"

	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/geo/arrange/geosoracle"
)

var (
	ratios = flag.String("ratios", "small", "the works that TestRatioTable times, from small, quarter, section, machines")
	rounds = flag.Int("rounds", 3, "how often it times each")
)

// TestRatioTable prints how much longer the usual way takes, with GEOS, than
// Sweep and Lay do for the same passes:
//
//	go test -tags geos ./coverage -run TestRatioTable -v -args -ratios quarter,section -rounds 5
//
// Both are timed in turn in one run, and medians printed, in milliseconds. The
// usual way is: a polygon for each pass ("shape": the line of the bar's centre
// through all fixes, widened by half the bar with flat ends; or the rings that
// Sweep leaves, which needs our Sweep first), the union of all, the field less
// that, and the intersection of each pair of polygons whose boxes meet. Not
// timed are what it takes to hand coordinates to GEOS, and to sum up. Lay does
// more than that, too: it says which passes lie over each piece, cuts out the
// pieces, and describes skips, overlaps and the field's edge.
func TestRatioTable(t *testing.T) {
	out := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(os.Stdout, "%s, %d processors, medians of %d, ms\n", runtime.Version(), runtime.GOMAXPROCS(0), *rounds)
	fmt.Fprintln(out, "work\tfixes\tpasses\tGEOS from\tshape\tunion\tskip\toverlap\ttotal\tSweep\tLay\ttotal\tratio\t")
	for _, w := range works(strings.Split(*ratios, ",")...) {
		land, lines := outline(w.field), linesOf(w.passes, w.machines)
		var sweeping, lay []time.Duration
		var fromLines, fromRings []geosoracle.Stages
		for range *rounds {
			runtime.GC()
			began := time.Now()
			ground := sweep.Sweep(machine.Machines(w.machines), w.passes)
			halfway := time.Now()
			m := laid(t, w.field, machine.Machines(w.machines), ground, field.Options{})
			sweeping, lay = append(sweeping, halfway.Sub(began)), append(lay, time.Since(halfway))
			require.Positive(t, m.Totals.Covered)

			runtime.GC()
			took, err := geosoracle.RunLines(land, lines)
			require.NoError(t, err)
			fromLines = append(fromLines, took)
			runtime.GC()
			took, err = geosoracle.RunRings(land, ringsOf(ground.Swaths))
			require.NoError(t, err)
			fromRings = append(fromRings, took)
		}
		row := func(from string, s []geosoracle.Stages, sweep []time.Duration) {
			ours := median(sweep) + median(lay)
			usual := median(each(s, geosoracle.Stages.Total))
			require.Positive(t, usual)
			fmt.Fprintf(out, "%s\t%d\t%d\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%.1f\t\n", w.name, w.fixes, len(w.passes), from,
				ms(median(each(s, func(s geosoracle.Stages) time.Duration { return s.Shape }))),
				ms(median(each(s, func(s geosoracle.Stages) time.Duration { return s.Union }))),
				ms(median(each(s, func(s geosoracle.Stages) time.Duration { return s.Skip }))),
				ms(median(each(s, func(s geosoracle.Stages) time.Duration { return s.Overlap }))),
				ms(usual), ms(median(sweep)), ms(median(lay)), ms(ours), float64(usual)/float64(ours))
		}
		row("all fixes", fromLines, sweeping)
		row("our rings", fromRings, []time.Duration{0})
	}
	require.NoError(t, out.Flush())
}

func each(s []geosoracle.Stages, stage func(geosoracle.Stages) time.Duration) []time.Duration {
	out := make([]time.Duration, len(s))
	for i := range s {
		out[i] = stage(s[i])
	}
	return out
}

func median(d []time.Duration) time.Duration {
	d = slices.Clone(d)
	slices.Sort(d)
	return d[len(d)/2]
}

func ms(d time.Duration) string { return fmt.Sprintf("%.1f", float64(d.Microseconds())/1000) }
