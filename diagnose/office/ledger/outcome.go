package ledger

// A Fate says what became of one file that was handed in.
type Fate int

// The fates.
const (
	TakenNew     Fate = iota + 1 // it was not here before
	TakenFurther                 // what was here went on as the file goes on
	TakenSame                    // it was here already, whole
	TakenOlder                   // what is here goes on further than the file
	SetAside                     // it does not verify; it is kept, with the reason
	Ignored                      // it is no visit, no review and no result of practice
	Unread                       // it could not be read
)

// An Outcome is what became of one file, once that is on the disk.
type Outcome struct {
	Name   string // of the file
	Fate   Fate
	ID     string // of the visit, "" where it is not known
	Reason string // why it was quarantined or not read
	Waits  bool   // quarantined only until its visit comes
}
