package plain

import "ampwalk/diagnose/field/siteform"

// describeActs are the commands of the acts.
var describeActs = map[siteform.Act]string{
	siteform.DoBack: "back", siteform.DoNext: "next", siteform.DoAssume: "assume", siteform.DoClear: "open",
	siteform.DoChecked: "checked", siteform.DoRemove: "remove", siteform.DoUndo: "undo", siteform.DoList: "list",
	siteform.DoGo: "go", siteform.DoDetails: "more", siteform.DoFinish: "done",
}

// DescribeCommand is what is typed for an act of a description.
func DescribeCommand(act siteform.Act) string { return describeActs[act] }
