package main

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed topics.toml
var topicsFile []byte

// A topic is what help tells of work in the field.
type topic struct{ Short, Text string }

// topicNames are the topics in the order in which they are listed.
var topicNames = []string{"volts", "clamp", "indicators", "safety"}

var topics = sync.OnceValue(func() map[string]topic {
	return datafile.Read[struct{ Topic map[string]topic }]("cmd/ampwalk/topics.toml", topicsFile).Topic
})

// topicsHelp lists the topics.
func topicsHelp() string {
	var b strings.Builder
	for _, name := range topicNames {
		fmt.Fprintf(&b, "  %-26s %s\n", "ampwalk help "+name, topics()[name].Short)
	}
	return b.String()
}
