// Package machine is the crew as the job and the logs describe it: machines with
// their implements, and the fixes, sections and rates that they logged. Nothing
// here has been cleaned or worked out yet.
package machine
