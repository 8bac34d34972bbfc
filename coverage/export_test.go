package coverage

// CausesOf works out the causes of a map again.
func CausesOf(m *Map) { m.causes() }
