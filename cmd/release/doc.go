// Release builds the files of a release, from a clean checkout with Go alone:
//
//	go run ./cmd/release VERSION [--out dist] [--only linux/amd64,...]
//
//	lapwing-VERSION-OS-ARCH.zip|.tar.gz   the program, README and licence, and what a
//	                                      double click opens the desk by
//	lapwing-VERSION-OS-ARCH.cdx.json      its bill of materials, CycloneDX
//	lapwing.html, sw.js, ...              the page that carries its engine, by cmd/page/make
//	SHA256SUMS                            checksums of all of these
//
// The same commit, version and Go give the same bytes, on any machine and in any
// folder: paths are trimmed, times are the commit's, names are in order.
package main
