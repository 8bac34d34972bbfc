package season

import (
	"fmt"
	"math"

	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// returns are the fields of a season that were there in an earlier year too, in the
// order of the season's entries.
func (y *year) returns() []*Return {
	var out []*Return
	for _, entry := range y.entries {
		for i := range y.Returns {
			if y.Returns[i].Later == entry {
				out = append(out, &y.Returns[i])
			}
		}
	}
	return out
}

// since names the year that a season is compared with.
func since(returns []*Return) string {
	of := returns[0].Earlier.Year()
	for _, r := range returns {
		if r.Earlier.Year() != of {
			return "the year before"
		}
	}
	return fmt.Sprint(of)
}

// changeSentence says whether more ground was skipped than the year before, on the
// fields that were there in both.
func (y *year) changeSentence(u quantity.Units, returns []*Return) string {
	now, then := 0.0, 0.0
	for _, r := range returns {
		now, then = now+r.Later.skipped(), then+r.Earlier.skipped()
	}
	fields := words.Count(len(returns), "field") + " of both years"
	less, more := u.SquareMetres(then-now), u.SquareMetres(now-then)
	switch nothing := u.SquareMetres(0); {
	case now > then && more != nothing:
		return fmt.Sprintf("%s more skipped than in %s on %s.", more, since(returns), fields)
	case now < then && less != nothing:
		return fmt.Sprintf("%s less skipped than in %s on %s.", less, since(returns), fields)
	}
	return fmt.Sprintf("As much skipped as in %s on %s.", since(returns), fields)
}

// changeTable has a row for each field that was there in an earlier year.
func (y *year) changeTable() page.Table {
	ground, edge := y.unit("acres", "ha"), y.unit("ft", "m")
	t := page.Table{
		ID: y.id("change"), Label: "Table of what changed", Sorts: true, Empty: "No field of an earlier year.",
		Caption: "What there is more (+) or less (\u2212) of than in the earlier year, on each field that was there in both.",
		Columns: []page.Column{
			page.Words("No."), page.Names("Field", "name"), page.Figures("Earlier year"), page.FiguresIn("Skips", ground), page.FiguresIn("Edge open", edge),
			page.FiguresIn("Worked twice", ground), page.FiguresIn("Outside", ground), page.Figures("Efficiency, points"),
		},
	}
	for _, r := range y.returns() {
		var w sorting
		now, then := r.Later, r.Earlier
		w.figure(words.Same(fmt.Sprint(now.Number)), float64(now.Number))
		w.text(words.Same(now.Name()))
		w.figure(words.Same(fmt.Sprint(then.Year())), float64(then.Year()))
		w.change(y.Units, now.skipped()-then.skipped(), quantity.Units.SquareMetresFigure)
		if now.Field.Worked || then.Field.Worked {
			w.optional(words.Text{}, 0, false)
		} else {
			w.change(y.Units, now.open()-then.open(), quantity.Units.LengthFigure)
		}
		w.change(y.Units, (now.Ground.Excess - then.Ground.Excess).Float(), quantity.Units.SquareMetresFigure)
		w.change(y.Units, (now.Ground.OverReach - then.Ground.OverReach).Float(), quantity.Units.SquareMetresFigure)
		a, known := now.efficiency()
		b, knew := then.efficiency()
		if known && knew {
			w.change(y.Units, 100*(a-b), func(_ quantity.Units, v float64) string { return quantity.Number(v, 0) })
		} else {
			w.optional(words.Text{}, 0, false)
		}
		w.put(&t).Cells[1].Link = now.page()
	}
	return t
}

// change is the figure of a difference, with its sign.
func (w *sorting) change(u quantity.Units, v float64, figure func(u quantity.Units, v float64) string) {
	w.figure(words.Both(u, func(u quantity.Units) string {
		text := figure(u, math.Abs(v))
		switch {
		case text == figure(u, 0):
			return text
		case v > 0:
			return "+" + text
		}
		return "\u2212" + text
	}), v)
}
