package main

import (
	"bytes"
	"fmt"

	"ampwalk/diagnose"
	"ampwalk/diagnose/printable"
	"ampwalk/diagnose/record"
)

// export writes a visit to one file that can be carried anywhere.
func (a *app) export(args []string) error {
	f := a.flags("export")
	data := f.String("data", "", "")
	out := f.String("out", "", "")
	if err := a.parse(f, args, 1, 1); err != nil {
		return err
	}
	name, _, err := a.visitFile("export", *data, f.Arg(0))
	if err != nil {
		return err
	}
	v, err := a.recorded(name)
	if err != nil {
		return err
	}
	var text bytes.Buffer
	if _, err := record.Export(name, &text); err != nil {
		return err
	}
	if *out != "" {
		if err := write(*out, text.Bytes(), false); err != nil {
			return err
		}
		return a.written(*out)
	}
	path, err := writeBeside(".", paper{}.name(v), record.Suffix, text.Bytes())
	if err != nil {
		return err
	}
	return a.written(path)
}

var takenTexts = map[record.Taken]string{
	record.TakenNew:     "taken in",
	record.TakenFurther: "was here already and goes on as the file does",
	record.TakenSame:    "was here already, the same",
	record.TakenOlder:   "was here already and goes on further than the file; nothing was changed",
}

// importVisits takes visits from files into the folder of the visits.
func (a *app) importVisits(args []string) error {
	f := a.flags("import")
	data := f.String("data", "", "")
	if err := a.parse(f, args, 1, -1); err != nil {
		return err
	}
	dir, err := a.dataDir(*data)
	if err != nil {
		return err
	}
	var bad error
	for _, name := range f.Args() {
		id, taken, damage, err := record.Import(dir, name, func(entries []diagnose.Entry) error {
			_, err := diagnose.Resume(entries, nil)
			return err
		})
		if err != nil {
			a.warn(err.Error())
			bad = errUsage
			continue
		}
		if damage != nil {
			a.warn(name + ": " + damage.Error())
		}
		fmt.Fprintf(a.stdout, "%s: %s\n", printable.Clean(id), takenTexts[taken])
	}
	return bad
}
