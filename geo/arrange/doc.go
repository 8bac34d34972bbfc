// Package arrange cuts the plane along rings, and says which layers of rings
// lie over each piece.
//
// There is no clip step and no chain of pairwise boolean operations: however
// many layers, one pass over all their edges answers every question at once,
// and no input makes it fail. The steps, one a file:
//
//	rings --snap.go--> where edges cross, and through which grid points they bend
//	      --node.go--> the distinct points, from west to east
//	      --edge.go--> the distinct edges, each with the layers that change across it
//	      --sweep.go-> the layers below and above each edge; exact areas
//	      --web.go---> the borders between labels as chains, and how these join
//	      --face.go--> the pieces as polygons with holes
//
// # Snap rounding
//
// A crossing of two edges is seldom a grid point. It is rounded to the nearest
// one, and that point's cell, the square of half a tick around it, is hot, as
// are the cells of all corners. Every edge that passes through a hot cell is
// bent through its centre (J. D. Hobby, "Practical segment intersection with
// finite precision output", Computational Geometry 13, 1999). The bent edges
// meet at their ends only, so what follows needs no further rounding and never
// meets a contradiction.
//
//	    ·   ·   · d ·             ·   ·   · d ·
//	a---.___·   ·/  ·         a---.___·   /   ·
//	    ·   `-.-/·  ·   -->       ·   `--x    ·      x: the hot cell nearest
//	    ·   · /`-.__b             ·   · / `---b      the crossing of ab and cd
//	    ·   c   ·   ·             ·   c   ·   ·
//
// # What snapping may do to an area
//
// A bent edge stays within the cells it passes through, so it leaves the
// straight one by less than h = √½ tick (0.071 mm). An area bounded by edges
// of total length L thus changes by less than L × h, the whole length being
// swept that far in the worst case: 0.23 m² for the 3.2 km boundary of a
// quarter section, 0.35 parts in a million.
//
// Where two rings simply cross, only the two edges bend, by a fraction of a
// tick at one place, and the real change is thousands of times smaller. Where
// edges cross again and again at slight angles, as the sides of neighbouring
// swaths do when receivers are noisy, it is not: slivers far thinner than a
// tick lie along much of the length, each is closed or opened by bending, and
// that does not cancel out. The covered ground of a field of 3 ha, driven with
// 14 cm of noise, has come out 0.1 m² too large, 3 parts in a million; the
// bound for the length of its swaths' edges is several times that. Areas of
// different pieces change together all the while: what one loses its neighbour
// gains, to the last half square tick.
//
// # The sweep
//
// A line moves from west to east over the points (or from south to north, see
// below). On it stand, from south to
// north, the edges it crosses; between two neighbours lies one piece of
// ground, and crossing an edge changes the winding number of its layers by a
// known amount. So each edge learns what lies below and above it from the edge
// it is put in above:
//
//	  |        above C: {1}
//	--C------
//	  |        above B: {1,2} = above A, and across B layer 2 begins
//	--B------
//	  |        above A: {1}   = nothing, and across A layer 1 begins
//	--A------
//	  |        nothing
//
// A layer is over a piece if its rings wind around it more often
// anticlockwise than clockwise, so rings of one layer may cross and overlap
// freely. Edges with the same label on both sides are no border: they are left
// out of the polygons but not out of the areas.
//
// Most points are no more than a bend of one ring: one edge ends, one begins,
// and the same layers change across both. The label below and above goes on,
// the point is added to the chain of bends that the edge is part of, and that
// is all. Chains end at junctions, and only those are followed round the faces:
//
//	    .--·--·--·--·--·---.
//	---x                    x---    x: junctions; ·: bends of two chains
//	    `----·--·--·--·----´
//
// Seen from the side, a long swath that wanders turns back at every other
// point, each of which begins or ends edges; seen lengthwise it goes on. So the
// plane is turned by a quarter for the sweep if fewer corners turn back then.
//
// The cost is that of sorting the points, plus the crossings.
package arrange
