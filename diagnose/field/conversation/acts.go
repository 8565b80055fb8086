package conversation

// An Act is the id of something that can be done beside answering the question shown.
type Act string

// The acts. Each face reaches all of them; a test of each holds it to that.
const (
	DoBack   Act = "back"     // show the answer before: [Talk.Back], or one of a list: [Talk.Show]
	DoNext   Act = "next"     // leave the answer shown as it was: [Talk.Forward], [Talk.Ask]
	DoAgain  Act = "repeat"   // take a reading once more: [Talk.Again]
	DoCannot Act = "cannot"   // [Talk.Cannot]
	DoStop   Act = "stop"     // [Talk.Stop]
	DoNote   Act = "note"     // [Talk.Note]
	DoWhy    Act = "why"      // why this question, and what is believed
	DoIf     Act = "if"       // [Talk.WhatIf]
	DoList   Act = "answers"  // [Talk.Answers] and [Talk.Notes]
	DoWiring Act = "wiring"   // the drawing of the site
	DoLook   Act = "standard" // the standard pictures
	DoShow   Act = "more"     // the whole question
	DoLeave  Act = "leave"    // [Talk.Leaving], [Talk.Leave]
)

// Acts are all of them.
var Acts = []Act{DoBack, DoNext, DoAgain, DoCannot, DoStop, DoNote, DoWhy, DoIf, DoList, DoWiring, DoLook, DoShow, DoLeave}
