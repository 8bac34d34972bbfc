package gnsslog

// An interner keeps the values of one column, each distinct one once.
type interner struct {
	distinct []string
	codes    []uint32
	byValue  map[string]uint32
	last     uint32
}

// add appends the value of the next fix.
func (in *interner) add(value []byte) {
	if len(in.distinct) == 0 || in.distinct[in.last] != string(value) {
		code, ok := in.byValue[string(value)]
		if !ok {
			code = in.learn(string(value))
		}
		in.last = code
	}
	in.codes = append(in.codes, in.last)
}

func (in *interner) learn(value string) uint32 {
	if in.byValue == nil {
		in.byValue = map[string]uint32{}
	}
	code := uint32(len(in.distinct))
	in.byValue[value] = code
	in.distinct = append(in.distinct, value)
	return code
}

// join appends the values of a later part of the same column. renamed are the
// codes here of the values that the part had when it was joined before; join
// returns those that it has now.
func (in *interner) join(later *interner, renamed []uint32) []uint32 {
	for _, value := range later.distinct[len(renamed):] {
		code, ok := in.byValue[value]
		if !ok {
			code = in.learn(value)
		}
		renamed = append(renamed, code)
	}
	for _, code := range later.codes {
		in.codes = append(in.codes, renamed[code])
	}
	return renamed
}
