package taskdata

import "math"

// A Hitch says how a bar sits to the antenna that the log's positions are of.
// Lengths are in metres, NaN where the set does not say; forward and right
// are as in [Bar]. It fits an implement that is described by these four
// lengths:
//
//	antenna ──AntennaToHitch──▶ pin ──HitchToBar──▶ bar     backwards positive
//
// Whatever the mount, AntennaToHitch + HitchToBar is how far the bar is behind
// the antenna while all stands in one line.
//
// Without a connector the bar is rigid with what carries the antenna: then the
// pin is the bar, and HitchToBar is 0.
type Hitch struct {
	AntennaToHitch float64 // the pin is this far behind the antenna
	AntennaRight   float64 // the antenna is this far right of the pin (without connector: of the device's centre line)
	HitchToBar     float64 // the bar is this far behind the pin
	Offset         float64 // the bar's middle is this far right of the pin (without connector: of the centre line)
	// Connector is the raw type of the bar's connector (entry 157: 0 unknown,
	// 1 drawbar, 2 and 3 three-point hitch semi-mounted and mounted, 9 part of
	// the vehicle; numbers from memory); -1 where there is none or it has none.
	Connector int
	// Antenna is the id of the navigation reference used; "" if there is none.
	Antenna string
}

// unknownHitch is a hitch of which nothing is known.
func unknownHitch() Hitch {
	return Hitch{AntennaToHitch: math.NaN(), AntennaRight: math.NaN(), HitchToBar: math.NaN(), Offset: math.NaN(), Connector: -1}
}

// hitch works out how a bar sits to the antenna: by a navigation reference of
// its own device, or of one coupled to it.
func (b *bearing) hitch(set *Set, t *Task, bar Bar) Hitch {
	h := unknownHitch()
	pull := b.first(ConnectorElement)
	other, pin := b.coupled(set, t, &pull)
	var pinX, pinY float64 // in the frame of the bar's device, mm
	if pull >= 0 {
		pinX, _ = b.offset(pull, OffsetX)
		pinY = b.sideways(pull)
		h.HitchToBar, h.Offset = pinX/metre-bar.X, orZero(bar.Y)-pinY/metre
		if raw, ok := b.device.Elements[pull].Properties[ConnectorType]; ok {
			h.Connector = int(raw)
		} else if v := b.logged(pull, ConnectorType); v != nil {
			h.Connector = int(v.Raw[0])
		}
	}
	if own := b.first(NavigationElement); own >= 0 {
		antenna, _ := b.offset(own, OffsetX)
		h.Antenna, h.AntennaRight = b.device.Elements[own].ID, b.sideways(own)/metre
		if pull >= 0 {
			h.AntennaToHitch = (antenna - pinX) / metre
			h.AntennaRight -= pinY / metre
			return h
		}
		h.AntennaToHitch, h.HitchToBar, h.Offset = antenna/metre-bar.X, 0, orZero(bar.Y)
		return h
	}
	if other == nil {
		return h
	}
	if theirs := other.first(NavigationElement); theirs >= 0 {
		antenna, _ := other.offset(theirs, OffsetX)
		hook, _ := other.offset(pin, OffsetX)
		h.Antenna = other.device.Elements[theirs].ID
		h.AntennaToHitch = (antenna - hook) / metre
		h.AntennaRight = (other.sideways(theirs) - other.sideways(pin)) / metre
	}
	return h
}

// first returns the first element of a type, or -1.
func (b *bearing) first(t ElementType) int {
	for i := range b.device.Elements {
		if b.device.Elements[i].Type == t {
			return i
		}
	}
	return -1
}

// sideways is how far an element is to the right, in millimetres; 0 if not given,
// as most descriptions leave out an offset of zero.
func (b *bearing) sideways(element int) float64 {
	y, _ := b.offset(element, OffsetY)
	return orZero(y)
}

func orZero(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// coupled returns the device at the other end of a coupling of b's device, and
// its connector; nil if there is none. pull becomes b's own connector there.
func (b *bearing) coupled(set *Set, t *Task, pull *int) (other *bearing, pin int) {
	for _, c := range t.Couplings {
		if c.DeviceB == b.device.ID {
			c = Coupling{c.DeviceB, c.ConnectorB, c.DeviceA, c.ConnectorA}
		}
		d := set.Device(c.DeviceB)
		if c.DeviceA != b.device.ID || d == nil {
			continue
		}
		mine, theirs := b.device.element(c.ConnectorA), d.element(c.ConnectorB)
		if mine < 0 || theirs < 0 {
			continue
		}
		one := newBearing(d, b.log)
		if one.first(NavigationElement) >= 0 || other == nil {
			other, pin, *pull = one, theirs, mine
		}
	}
	return other, pin
}
