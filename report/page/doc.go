// Package page holds what all pages share: templates, styles, scripts, tables
// and cautions.
//
// # Adding a page
//
// All pages are one set: html/base.html places head, style, units, the page's
// own "main", notes, cautions and scripts; html/parts.html holds the parts,
// html/base.css all styles and colours, html/base.js units and sorting. A page
// is three things, in the package of its document:
//
//  1. A template, which defines "main" from the parts: {{template "map" .Map}},
//     "legend", "block" (a title block of entries), "table", "chart", and "q" for
//     a text in both systems of units.
//  2. A struct that embeds [Base], with every text ready to be placed: a
//     [words.Text] for what has a unit, a [Table] (Sorts lets its heads sort it), a
//     chart or map of package chart. The template computes nothing.
//  3. A variable made by [NewTemplate] of the template, and a method that executes it.
//     Give [MapScript] to [New] where the page has a map, and a script of its own
//     after it only for what the others do not do.
//
// A colour is named once, in base.css; shapes get one by their class. The same
// input gives the same bytes: no clock, no map order. A page is seen in light,
// dark and print, at 390 and 1280 pixels, and by keyboard, before it is done.
package page
