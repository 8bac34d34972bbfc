// Package assesstest makes assessments for tests, whose maps are drawn on a
// lattice and not measured: every area in them is known without the engine.
package assesstest
