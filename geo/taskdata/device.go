package taskdata

import (
	"fmt"
	"strconv"
	"strings"
)

// A Device is a machine, or what it pulls or carries, as it described itself.
type Device struct {
	ID, Name string
	Class    Class // 0 where it does not say
	Elements []Element
}

// An ElementType says what an element of a device is.
type ElementType int

// The types of elements.
const (
	DeviceElement ElementType = 1 + iota
	FunctionElement
	BinElement
	SectionElement
	UnitElement
	ConnectorElement
	NavigationElement
)

// String returns the word for t.
func (t ElementType) String() string {
	if words := [...]string{"element", "device", "function", "bin", "section", "unit", "connector", "navigation reference"}; t > 0 && int(t) < len(words) {
		return words[t]
	}
	return fmt.Sprintf("element of type %d", int(t))
}

// An Element is a part of a device. Elements form a tree.
type Element struct {
	ID     string
	Number int // within the device
	Type   ElementType
	Name   string
	Parent int // index of the element it belongs to; -1 at the top

	// Properties are the values that never change, such as offsets and
	// widths, raw, by dictionary entry.
	Properties map[DDI]int32
}

// element returns the index of the element with an id, or -1.
func (d *Device) element(id string) int {
	for i := range d.Elements {
		if d.Elements[i].ID == id {
			return i
		}
	}
	return -1
}

// within reports whether element i is element of, or lies below it.
func (d *Device) within(i, of int) bool {
	for i >= 0 && i != of {
		i = d.Elements[i].Parent
	}
	return i == of
}

// function reports whether an element is a function of its device. Some
// writers call it a device (type 1) below the device.
func (d *Device) function(i int) bool {
	e := &d.Elements[i]
	return e.Type == FunctionElement || e.Type == DeviceElement && e.Parent >= 0
}

// maxElements is how many elements of one device are taken: their numbers have
// twelve bits (from memory).
const maxElements = 4096

// objects are what elements of a device refer to by number.
type objects struct {
	elements   map[int64]int // DET by its number, to its index
	properties map[int64]property
}

type property struct {
	ddi   DDI
	value int32
}

func (r *reading) takeDevice(e *element, file string) {
	d := Device{ID: e.text("A"), Name: e.text("B"), Class: classOf(e.text("D"))}
	r.meet(file, e)
	o := objects{elements: map[int64]int{}, properties: map[int64]property{}}
	e.each("DPT", func(p *element) {
		number, okNumber := p.whole("A")
		ddi, okDDI := parseDDI(p.text("B"))
		value, okValue := p.whole("C")
		if !okNumber || !okDDI || !okValue || value != int64(int32(value)) {
			r.note(file, p.line, fmt.Sprintf("property of device %s left out: A=%.20q B=%.20q C=%.20q, want a number, four hexadecimal digits and a 32-bit number",
				shorten(d.ID), p.text("A"), p.text("B"), p.text("C")))
			return
		}
		o.properties[number] = property{ddi, int32(value)}
	})
	var parents []int64
	e.each("DET", func(x *element) {
		if len(d.Elements) == maxElements {
			r.note(file, x.line, fmt.Sprintf("element of device %s after the first %d left out", shorten(d.ID), maxElements))
			return
		}
		parents = append(parents, r.takeElement(x, file, &d, o))
	})
	for i, p := range parents {
		if at, ok := o.elements[p]; ok && p != 0 {
			d.Elements[i].Parent = at
		} else if p != 0 {
			r.note(file, e.line, "element of device "+shorten(d.ID)+" belongs to one that is not there; taken as being at the top")
		}
	}
	if cutRings(d.Elements) {
		r.note(file, e.line, "elements of device "+shorten(d.ID)+" belong to each other in a ring; cut")
	}
	r.set.Devices = append(r.set.Devices, d)
}

// takeElement adds one element and returns the number of its parent, 0 for none.
func (r *reading) takeElement(x *element, file string, d *Device, o objects) int64 {
	kind, _ := x.whole("C")
	number, _ := x.whole("E")
	one := Element{ID: x.text("A"), Number: int(number), Type: ElementType(kind), Name: x.text("D"), Parent: -1, Properties: map[DDI]int32{}}
	r.meet(file, x)
	x.each("DOR", func(ref *element) {
		if number, ok := ref.whole("A"); ok {
			if p, ok := o.properties[number]; ok {
				one.Properties[p.ddi] = p.value
			}
		}
	})
	if number, ok := x.whole("B"); ok {
		if _, twice := o.elements[number]; twice {
			r.note(file, x.line, "element number of device "+shorten(d.ID)+" occurs twice; references mean the first")
		} else {
			o.elements[number] = len(d.Elements)
		}
	}
	d.Elements = append(d.Elements, one)
	parent, _ := x.whole("F")
	return parent
}

// cutRings makes a tree of elements by putting to the top those that end up
// at themselves; it reports whether there were any.
func cutRings(elements []Element) bool {
	const (
		fresh = iota
		open
		done
	)
	cut := false
	state := make([]uint8, len(elements))
	for i := range elements {
		at := i
		for at >= 0 && state[at] == fresh {
			state[at] = open
			if p := elements[at].Parent; p >= 0 && state[p] == open {
				elements[at].Parent, cut = -1, true
			}
			at = elements[at].Parent
		}
		for at = i; at >= 0 && state[at] == open; at = elements[at].Parent {
			state[at] = done
		}
	}
	return cut
}

// parseDDI reads the four hexadecimal digits of a dictionary entry.
func parseDDI(text string) (DDI, bool) {
	n, err := strconv.ParseUint(strings.TrimSpace(text), 16, 16)
	return DDI(n), err == nil
}
