// Package coverage turns tracks into covered ground.
//
// The way of the data, one package a stage, each owning the type that it leaves:
//
//	machine.Track --track---> Path     what the antenna did
//	              --stance--> Walk     what the bar did
//	              --work----> Pass     where it worked
//	              --sweep---> Ground   what it swept, one swath a visit
//	              --region--> Layout   where the swaths lie over one another, and over what
//	              --edge----> Edge     how far from the boundary the worked ground begins
//	              --cause---> Skip, Overlap    and why
//
// Measure is those stages called in order, and a [Map] what they left. Field and
// options are package field's, machines and their logs package machine's. Package
// beside compares passes with their neighbours. The package opens no file, prints
// nothing and asks no clock.
package coverage
