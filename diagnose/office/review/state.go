package review

// A State is where a visit stands between staff and supervisor; the zero value is
// none.
type State int

// The states, in the order of a visit's way.
const (
	UnderWay State = iota + 1 // begun and not ended
	HandedIn                  // ended; nobody decided on it as it is now
	SentBack                  // with a question that nobody went on with yet
	Accepted                  // as it is now
)

// States are all of them.
var States = []State{UnderWay, HandedIn, SentBack, Accepted}

func (s State) String() string {
	return [...]string{"", "under way", "handed in", "sent back", "accepted"}[s]
}

// Decided reports whether somebody decided on the visit as it is.
func (s State) Decided() bool { return s == SentBack || s == Accepted }

// StateOf is the state of a visit with the last hash head. A decision is on the
// journal as it was then; answers that came later open the visit again.
func StateOf(finished bool, head string, list []Entry) State {
	switch d := Decision(list); {
	case d != nil && d.Head == head && d.Kind == Accept:
		return Accepted
	case d != nil && d.Head == head:
		return SentBack
	case finished:
		return HandedIn
	default:
		return UnderWay
	}
}
