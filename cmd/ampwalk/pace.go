package main

import (
	"os"
	"runtime/debug"

	"ampwalk/diagnose/inference/belief"
)

// memoryMost is how much memory garbage may fill, beyond which the collector works at any pace.
const memoryMost = 64 << 20

// paceOfInference collects garbage less often, since an inference leaves much of it and
// a person waits. Who says GOGC or GOMEMLIMIT has decided on both.
func paceOfInference() {
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	debug.SetGCPercent(belief.GCPercent)
	debug.SetMemoryLimit(memoryMost)
}
