// Package assess makes the whole answer for one field: measured, priced, and
// asked what else is wanted. Every document of a field is written
// from an [Assessment].
//
//	Job, Field --coverage.Measure--> Map --agronomy.Reckon--> accounts    do.go
//	questions  --last.go, mend.go, whatif.go--> answers, in the Assessment
//	Assessment --summary.go--> Summary, which is summary.json: written and read here
//	           --encode.go--> bytes, and back to the same Assessment
//
// An Assessment is a value: it holds what its documents need, so that they read no job
// and no log. What several of them need stands beside it: which patches are
// listed under which numbers (listing.go), where a patch is in words (place.go),
// which passes lie over a region (regions.go).
//
// # summary.json
//
// How a number is written is a matter of package figure. Areas are written to the last
// digit: half a square tick is 5e-9 m², so nine decimals are exact and the identities
// between areas hold in the file as they do on the grid. Lengths are rounded to a
// micrometre, places to nine decimals of a degree. A figure that is not known is null;
// times are UTC in RFC 3339, and "" where the log has no clock. README explains the
// figures that most readers want. These stand beside them:
//
//	field.worked             true where the worked ground's outer edge stands in for a boundary
//	field.lon, field.lat     the centre of the field's frame
//	field.operation          what was done, as a task set calls it; only where it tells of several
//	machines                 name, operator and width_m of each
//	headland.edge.openings   stretches the work does not reach, longest first:
//	                         length_m, standoff_max_m, hole, lon, lat (of the middle)
//	headland.unlogged_m2     the part of the zone the log is silent about
//	passes[].day             its first day in the job's time zone; "" without a clock
//	passes[].lap             the lap it kept to ground worked before, along_m of straight way:
//	                         aimed_m (planned: the job says so), mean_m, spread_m (one standard
//	                         deviation about the mean of the same side), left and right;
//	                         receiver_m: what the receivers alone move such a lap by
//	skips[].headland         whether the patch lies in the headland zone
//	skips[].place            where it is, in words, as overlaps[].place
//	products[].applied_l, wasted_l, short_l     the volumes, where they are known
//	products[].nitrogen.short_kg
//	warnings[].line, count   null where they have no meaning
//	products[].working       the log's column that says where the product was on; null: as its machines
//	products[].ground        swept_m2, wasted_m2, short_m2: what its figures are reckoned on
//	products[].density_kg_per_m3, analysis (n, p2o5, k2o as fractions), short_cost
//	products[].waste         the waste taken apart: total = by_cause + too_small + overreach
//	                         = by_machine = by_pass, each an amount: ground_m2, kg, l,
//	                         n_kg, p2o5_kg, k2o_kg, cost
//	products[].tanks         by machine: filled_l, fill_m2 (how far a fill goes) and fills, each
//	                         from, to (pass, along_m, lon, lat, time), ground_m2, left_l;
//	                         expected and reported fills; dry: ground worked with the tank
//	                         likely empty, known by (dry_by) the times the crew gave, its
//	                         count, or the log's having no stop to fill at
//	                         (with a working column, pass counts the product's own stretches)
//	best_change              the cause of waste that costs most, and what mending it saves at most
//	skip_loss                what does not grow in skips: crop_kg, value, unspent (product not put
//	                         down there), net = value - unspent; null without a crop
//	dose                     the rate in turns as shares of the target: ground_m2 by the classes
//	                         between bounds, reversing_m2, off_target_m2 (over 10 % off, reversing
//	                         too), least, most
//	times                    by machine: where its time in the field went, in s; stops of 3 minutes
//	                         or more; capacity_m2_per_s (new ground by time), efficiency
//	forecast                 when the ground left will be worked: finish, and early and late, which
//	                         hold it nine times in ten; before_rain: yes, likely, unlikely or no
//	stated                   what the task set itself says, where it is one: of each what (field_m2,
//	                         swept_m2 with laps counted, distance_m and time_s at work, applied_kg,
//	                         applied_l) its own figure (set), measured, and the difference
//	thinned_m                how far a swath's outline may lie from the bar's path
//	                         because fixes were left out
//
// The number of a skip or an overlap is its place among all of them, from the
// largest down, whatever is listed: a patch has one number in every file, and
// keeps it where only larger or wider ones are asked for. A list then has holes.
package assess
