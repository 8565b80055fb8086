package site

import _ "embed"

//go:embed demo.site.toml
var demoTOML []byte

// DemoTOML is the text of the demo site's file: an invented clinic, commented
// as an example for one's own file.
func DemoTOML() []byte { return append([]byte(nil), demoTOML...) }

// Demo is the demo site.
func Demo() *Site {
	s, err := Parse("demo.site.toml", demoTOML)
	if err != nil {
		panic(err) // the file is part of the program
	}
	return s
}
