// Package journal keeps what machines do while they do it, in a log that
// survives: a process killed, a power cut and a full disk.
//
//	record.go   Record <-> one line
//	journal.go  [Create] and [Open] -> [Journal]: Append, Sync
//	reader.go   lines from any offset -> records, and what is wrong with the rest [Reader]
//	mend.go     a journal after a power cut -> one that ends with a whole record [Mend]
//	copy.go     what came of a journal kept elsewhere -> the same journal here    [Cut], [Journal.Take]
//	folder.go   where the files are                                              [Folder]
//
// A journal is a log like any other: CSV, with the columns time, lat, lon,
// quality, heading, speed(m/s), machine, working and sections, that package
// gnsslog reads to the very fixes that were appended. A last column, check,
// holds the CRC-32C (Castagnoli) of the line before it, in eight hexadecimal
// digits. So a record is whole or it isn't there: a line without its end or
// with a wrong check is none.
//
// There is one file for each machine and start, and a file only grows. What
// has been synced never changes, so that it can be passed on in ranges, in any
// order and twice, and read from any offset at which a record ends.
package journal
