package main

import (
	"embed"
	"io"

	"ampwalk/diagnose/document"
)

//go:embed usage/*.txt
var usageFiles embed.FS

// usage is the usage text of a command, "" for the whole program.
func usage(command string) string {
	if command == "" || command == "visit" {
		command = "ampwalk"
	}
	text, err := usageFiles.ReadFile("usage/" + command + ".txt")
	if err != nil {
		return ""
	}
	return string(text)
}

func (a *app) help(args []string) error {
	if err := a.parse(a.flags("help"), args, 0, 2); err != nil {
		return err
	}
	command := ""
	if len(args) > 0 {
		command = args[0]
	}
	text := usage(command)
	if command == "fonts" {
		text = document.FontLicence
	}
	if text == "" {
		return a.wrong("", "there is no command %q", command)
	}
	_, err := io.WriteString(a.stdout, text)
	return err
}
