package taskdata

import "fmt"

// A DDI is a number of the data dictionary of ISO 11783-11: it says what a
// value means and in which unit it is.
type DDI uint16

// The entries that say what ground was worked, and what was put down on it.
const (
	ActualVolumePerArea DDI = 2
	ActualMassPerArea   DDI = 7
	ActualCountPerArea  DDI = 12

	TotalVolume DDI = 80
	TotalMass   DDI = 81

	SetpointWidth     DDI = 66
	ActualWidth       DDI = 67
	DefaultWidth      DDI = 68
	MaximumWidth      DDI = 70
	OffsetX           DDI = 134 // forward positive (sign from memory)
	OffsetY           DDI = 135 // right positive (sign from memory)
	OffsetZ           DDI = 136 // down positive (sign from memory)
	TotalArea         DDI = 116
	WorkedDistance    DDI = 117
	WorkedTime        DDI = 119
	ActualWorkState   DDI = 141
	ConnectorType     DDI = 157 // name from memory
	CulturalPractice  DDI = 179 // name and values from memory
	condensedFirst    DDI = 161 // 16 sections each, to …
	condensedLast     DDI = 176
	condensedSections     = 16
)

// The values of a work state, plain or condensed.
const (
	workOff          = 0
	workOn           = 1
	workError        = 2
	workNotInstalled = 3
)

// A Quantity is what a dictionary entry measures: a value is raw × Resolution
// in the Unit.
type Quantity struct {
	Name       string
	Unit       string
	Resolution float64
}

// dictionary holds the entries used here, from the ISO 11783-11 data
// dictionary export (2025-12-10).
var dictionary = map[DDI]Quantity{
	1:                   {"setpoint volume per area", "mm³/m²", 0.01},
	ActualVolumePerArea: {"actual volume per area", "mm³/m²", 0.01},
	6:                   {"setpoint mass per area", "mg/m²", 1},
	ActualMassPerArea:   {"actual mass per area", "mg/m²", 1},
	11:                  {"setpoint count per area", "1/m²", 0.001},
	ActualCountPerArea:  {"actual count per area", "1/m²", 0.001},
	36:                  {"setpoint volume per time", "mm³/s", 1},
	37:                  {"actual volume per time", "mm³/s", 1},
	41:                  {"setpoint mass per time", "mg/s", 1},
	42:                  {"actual mass per time", "mg/s", 1},

	SetpointWidth: {"setpoint working width", "mm", 1},
	ActualWidth:   {"actual working width", "mm", 1},
	DefaultWidth:  {"default working width", "mm", 1},
	MaximumWidth:  {"maximum working width", "mm", 1},

	72:             {"actual volume content", "ml", 1},
	75:             {"actual mass content", "g", 1},
	78:             {"actual count content", "count", 1},
	TotalVolume:    {"application total volume", "L", 1},
	TotalMass:      {"application total mass", "kg", 1},
	82:             {"application total count", "count", 1},
	TotalArea:      {"total area", "m²", 1},
	WorkedDistance: {"effective total distance", "mm", 1},
	118:            {"ineffective total distance", "mm", 1},
	WorkedTime:     {"effective total time", "s", 1},
	120:            {"ineffective total time", "s", 1},
	121:            {"product density", "mg/L", 1},

	OffsetX:         {"device element offset X", "mm", 1},
	OffsetY:         {"device element offset Y", "mm", 1},
	OffsetZ:         {"device element offset Z", "mm", 1},
	ActualWorkState: {"actual work state", "", 1},

	142: {"setpoint value latency", "ms", 1},
	143: {"actual value latency", "ms", 1},
	160: {"section control state", "", 1},
	205: {"section control turn-on time", "ms", 1},
	206: {"section control turn-off time", "ms", 1},
	397: {"vehicle speed", "mm/s", 1},
}

// Meaning returns what d measures; false for an entry not known here, among
// them all that makers define for themselves.
func (d DDI) Meaning() (Quantity, bool) {
	if d >= condensedFirst && d <= condensedLast {
		first := int(d-condensedFirst)*condensedSections + 1
		return Quantity{fmt.Sprintf("actual condensed work state %d-%d", first, first+condensedSections-1), "", 1}, true
	}
	q, ok := dictionary[d]
	return q, ok
}

// rates are the entries that say how much was to be, or was, put out per area.
var rates = []DDI{1, ActualVolumePerArea, 6, ActualMassPerArea, 11, ActualCountPerArea}

// Condensed takes one raw value of a condensed work state apart: the state of
// each of 16 sections, the first in the lowest two bits (bit order from
// memory). The value is read as unsigned: from the 16th section on, the sign
// is part of it.
func Condensed(raw int32) (states [condensedSections]uint8) {
	bits := uint32(raw)
	for i := range states {
		states[i] = uint8(bits & 3)
		bits >>= 2
	}
	return states
}
