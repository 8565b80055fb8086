package visiting_test

import (
	"fmt"
	"time"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
)

// inMemory is a journal that forgets.
type inMemory struct{}

func (inMemory) Append(visiting.Entry) error { return nil }

// The loop of a visit: ask, read what was typed, give the answer to the journal.
func ExampleVisit() {
	at := time.Date(2026, 5, 14, 9, 0, 0, 0, time.UTC)
	head := visiting.Head{ID: "visit-1", SiteTOML: string(site.DemoTOML()), StartedAt: at}
	v, err := visiting.New(head, inMemory{})
	if err != nil {
		fmt.Println(err)
		return
	}
	prompt := v.Prompt()
	answer, err := v.Read(prompt, prompt.Step.Choices[0].Text)
	if err != nil {
		fmt.Println(err)
		return
	}
	answer.At = at.Add(time.Minute)
	if err := v.Give(answer); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(prompt.Step.ID, answer.Kind, answer.Chosen)
	fmt.Println(v.Prompt().Step.ID)
	// Output:
	// permission did [yes]
	// people
}
