// Package review is what a supervisor says of a visit: comments, questions that send it back,
// acceptance. Each is signed, and none is ever changed.
//
// Start with [Sign], [Parse] and [Verify].
//
// # Format, version 1
//
// The reviews of a visit are a file beside its journal, ID.reviews.jsonl, of JSON lines (UTF-8,
// each ended by a line feed). They are linked by their hashes as in
// ampwalk/diagnose/internal/hashchain:
//
//		{"sha256":"HASH","signature":"SIGNATURE","review":{…}}
//
//	  - signature: base64 of the signature, for the purpose [Purpose]. It is of three things: the
//	    HASH of the line before (nothing for the first), a line feed, and the bytes of the object
//	    review.
//
// The object review has these keys:
//
//   - version: 1, of the format.
//   - visit, head: the visit's id, and the hash of the last line of its journal as the signer
//     saw it.
//   - kind: comment, send-back (a question) or accept.
//   - who, at: the signer's name, and the time by the signer's own clock.
//   - step, text: the step it is about, and the words. Both may be missing.
//   - found: with accept only. What was accepted, in the words that the signer saw.
//
// # What it proves
//
// There is one way only to write a line, and one to write a signature. Both are compared byte
// by byte, so a changed byte shows even where all hashes were made again. A head vouches for
// every line of the journal before it. So a decision stays good while the visit goes on from
// it, but it decides only on the journal as it was ([StateOf]).
//
// What no file can tell is that whole reviews are missing at its end. Then the visit is not
// accepted, and `ampwalk verify` says that and fails.
package review
