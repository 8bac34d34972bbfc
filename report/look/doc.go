// Package look draws the places of a log as a small map of dots for a terminal.
package look
