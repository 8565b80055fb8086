package procedure_test

import (
	"fmt"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/site"
)

// A state is made from all outcomes. What was opened is put back before leaving.
func ExampleProcedure_Replay() {
	p := procedure.For(site.Demo())
	state := p.Replay([]procedure.Outcome{
		{Step: "array-isolate", Kind: procedure.Done},
		{Step: "loads-off", Kind: procedure.Done},
	})
	fmt.Println(state.Has(procedure.ArrayIsolated))
	for _, step := range p.Restore(state) {
		fmt.Println(step.ID)
	}
	// Output:
	// true
	// array-connect
	// loads-back
}
