//go:build browser

package main

import "lapwing/report/browsertest"

func init() { around = append(around, browsertest.Main) }
