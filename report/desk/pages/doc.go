// Package pages makes the pages of the jobs of a desk, as the commands write them, and
// makes them again only when the files of a job have changed.
//
//	pages.go    a job -> its report, and a record of what that was made of
//	drive.go    did the last passes join; the drive back
//	season.go   many jobs -> the season book, and what was wasted
//	compare.go  two jobs side by side
//	answer.go   what is replied
//	name.go     the folder of a job
package pages
