package siteform

// An Act is the id of something that can be done beside answering the question shown.
type Act string

// The acts. Each face reaches all of them; a test of each holds it to that.
const (
	DoBack    Act = "back"    // the question before: [Talk.Back]
	DoNext    Act = "next"    // leave the question as it is: [Talk.Next]
	DoAssume  Act = "assume"  // [Talk.Assume]
	DoClear   Act = "clear"   // take the answer away: [Talk.Clear]
	DoChecked Act = "checked" // the assumed value is right: [Talk.Checked]
	DoRemove  Act = "remove"  // take out the indicator, look or load: [Talk.Remove]
	DoUndo    Act = "undo"    // [Talk.Undo]
	DoList    Act = "list"    // all questions with their answers: [Talk.Questions]
	DoGo      Act = "go"      // to one of them: [Talk.Go], [Talk.GoNumber]
	DoDetails Act = "details" // every question there is: [Talk.Details]
	DoFinish  Act = "finish"  // leave; every answer is in the file
)

// Acts are all of them.
var Acts = []Act{DoBack, DoNext, DoAssume, DoClear, DoChecked, DoRemove, DoUndo, DoList, DoGo, DoDetails, DoFinish}
