// Package desk is the front door without a terminal: files in, what they are, the few
// questions that they leave open, and the pages that the commands write. It knows no
// network and no disk: a shell, a local server or a page in a browser, carries
// messages to [Desk.Ask] and keeps the files in a [store.Store].
//
//	message.go   what is asked and answered
//	desk.go      one ask after the other
//	newer.go     a newer version of a file takes the place of the one before
//	intake.go    files -> jobs; new logs join jobs that are there
//	jobs.go      the job files that there are
//	state.go     what the desk has, as a reply
//	tell.go      files and jobs in words and drawings
//	question.go  what a job leaves open
//	answer.go    an answer -> a line of a job file or an implement file
//	boundary.go  a boundary shifted, drawn, or with ground taken out
//	change.go    a change of the files, and undo
//	notes.go     desk.json: what the desk knows of its files
//	pack.go      the desk as an archive, and back
//	name.go      names that files get
//
// Package pages makes the pages of jobs, asked the questions that files leave open,
// outline boundaries of what a hand drew, draw the drawings; jobfile reads which files a job
// names; store keeps the files, and history what a change of them replaced. The files of a
// desk are those that the commands read and write:
//
//	files/...       what was dropped, as it was
//	NAME.yaml       a job for one field and operation
//	machines/       implement files
//	boundaries/     boundaries drawn, or with ground taken out; the originals stay
//	unpacked/       files of archives that jobs name
//	pages/NAME/...  what assess, last and mend write for a job; season and waste in pages/
//	history/N/...   what change N replaced
//	desk.json       units, what was placed and answered; without it the desk still opens
package desk
