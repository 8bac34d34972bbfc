package agronomy

import (
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
)

// An Own is a product whose ground is not that of the machines that carry it: its logs
// have a working column of its own, such as the ammonia of a machine that can seed with
// its tank empty, it ran out, or its rate is not known everywhere.
type Own struct {
	Product int // its index among the products
	// Machines are those that carry it, at work only where that column says
	// so and, where the log has a working state of the machine, that too; nil where
	// its ground is the field's.
	Machines []machine.Logged
	// Told are the same machines, at work only where the logs tell the rate as well;
	// nil where they do throughout.
	Told []machine.Logged
}

// ReckonOwn is [Reckon] where some of the products have ground of their own, which it
// measures as the field was measured.
func ReckonOwn(m *coverage.Map, products []Product, own []Own, crop *Crop, opt field.Options) (*Reckoning, error) {
	products = slices.Clone(products)
	for _, o := range own {
		p := &products[o.Product]
		for _, of := range []struct {
			machines []machine.Logged
			to       **coverage.Map
		}{{o.Machines, &p.Map}, {o.Told, &p.Told}} {
			if of.machines == nil {
				continue
			}
			measured, err := coverage.Measure(m.Field, of.machines, opt)
			if err != nil {
				return nil, err
			}
			*of.to = measured
		}
	}
	return Reckon(m, products, crop), nil
}
