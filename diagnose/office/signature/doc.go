// Package signature signs with a person's key and says whose signature it is.
//
// Start with [New], [Open], [Key.Sign], [Verify] and [ParseNames]. A key is Ed25519 (RFC 8032)
// in the private key file of OpenSSH, sealed by a passphrase. A signature is OpenSSH's too
// (PROTOCOL.sshsig), so that ssh-keygen can make the one and check the other. Nothing here is
// cryptography of our own: libraries make and read all of it.
//
// # Names
//
// The names file binds keys to names (`ampwalk help key`). A key may be closed in two ways:
//
//   - An ended key was good while it lasted. So the signer's own time counts.
//   - A revoked key may be in wrong hands, which can claim any time. What it signed counts only
//     if somebody else had it before. The ledger writes down when it first had each review.
//
// So `ampwalk verify` on files alone does not accept what a revoked key signed, and with
// --ledger it may. [Names.Vouch] decides this.
//
// # What it is checked against
//
// The key of RFC 8032's first test; and ssh-keygen, which opens our keys, checks our signatures
// and signs for us.
package signature
