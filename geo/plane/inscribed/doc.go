// Package inscribed finds the widest circle inside a polygon: how wide ground
// is, and a place well inside it.
//
//	polygon --breadth--> a bound, where it is a sliver with two sides
//	        --Finder---> circle, within a stated error of the widest
//
// The centre of the widest circle lies on the polygon's medial axis; it is
// called the largest inscribed circle, or the pole of inaccessibility.
package inscribed
