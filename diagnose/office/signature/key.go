package signature

import (
	"ampwalk/diagnose/base/datafile"
	"bytes"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

var (
	// ErrPassphrase says that a key does not open with the passphrase given.
	ErrPassphrase = datafile.Error(func() string { return words().Passphrase })
	// ErrNoPassphrase says that a passphrase is empty, or that a key is kept without.
	ErrNoPassphrase = datafile.Error(func() string { return words().NoPassphrase })
	// ErrKey says that something is no key of the kind used here.
	ErrKey = datafile.Error(func() string { return words().Key })
	// ErrSignature says that something is not what was signed, or no signature.
	ErrSignature = datafile.Error(func() string { return words().Signature })
)

// A Key is what a person signs with.
type Key struct {
	private ed25519.PrivateKey
	signer  ssh.Signer
}

// New makes a key of 32 bytes of chance.
func New(chance io.Reader) (Key, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(chance, seed); err != nil {
		return Key{}, err
	}
	return newKey(ed25519.NewKeyFromSeed(seed))
}

func newKey(private ed25519.PrivateKey) (Key, error) {
	signer, err := ssh.NewSignerFromKey(private)
	return Key{private, signer}, err
}

// Seal is the file of the key: OpenSSH's, which derives the key to it from the
// passphrase by bcrypt_pbkdf with a salt drawn by the library.
func (k Key) Seal(passphrase []byte, comment string) ([]byte, error) {
	if len(passphrase) == 0 {
		return nil, ErrNoPassphrase
	}
	block, err := ssh.MarshalPrivateKeyWithPassphrase(k.private, comment, passphrase)
	if err != nil {
		return nil, err
	}
	return pem.EncodeToMemory(block), nil
}

// Open opens the file of a key.
func Open(file, passphrase []byte) (Key, error) {
	if _, err := ssh.ParseRawPrivateKey(file); err == nil {
		return Key{}, ErrNoPassphrase
	}
	if len(passphrase) == 0 {
		return Key{}, ErrPassphrase
	}
	raw, err := ssh.ParseRawPrivateKeyWithPassphrase(file, passphrase)
	switch private, ok := raw.(*ed25519.PrivateKey); {
	case errors.Is(err, x509.IncorrectPasswordError):
		return Key{}, ErrPassphrase
	case err != nil:
		return Key{}, fmt.Errorf("%w: %w", ErrKey, err)
	case !ok:
		return Key{}, ErrKey
	default:
		return newKey(*private)
	}
}

// PublicOf is the public key in the file of a key, for which it need not be opened.
func PublicOf(file []byte) (Public, error) {
	_, err := ssh.ParseRawPrivateKey(file)
	sealed := (*ssh.PassphraseMissingError)(nil)
	switch {
	case err == nil:
		return "", ErrNoPassphrase
	case !errors.As(err, &sealed):
		return "", fmt.Errorf("%w: %w", ErrKey, err)
	case sealed.PublicKey == nil || sealed.PublicKey.Type() != ssh.KeyAlgoED25519:
		return "", ErrKey
	}
	return publicOf(sealed.PublicKey), nil
}

// Public is what others know the key by.
func (k Key) Public() Public { return publicOf(k.signer.PublicKey()) }

// A Public is a public key as OpenSSH writes it: "ssh-ed25519 BASE64".
type Public string

func publicOf(p ssh.PublicKey) Public {
	return Public(strings.TrimSpace(string(ssh.MarshalAuthorizedKey(p))))
}

// ParsePublic reads a public key; a comment behind it is left out.
func ParsePublic(text string) (Public, error) {
	p, _, options, rest, err := ssh.ParseAuthorizedKey([]byte(text))
	if err != nil || p.Type() != ssh.KeyAlgoED25519 || len(options) > 0 || len(rest) > 0 {
		return "", ErrKey
	}
	return publicOf(p), nil
}

// Fingerprint is a short name of the key, to compare by eye: "SHA256:BASE64".
func (p Public) Fingerprint() string {
	key, _, _, _, err := ssh.ParseAuthorizedKey([]byte(p))
	if err != nil {
		return "(no key)"
	}
	return ssh.FingerprintSHA256(key)
}

// hash is of the message before it is signed.
const hash = sshsig.HashSHA512

// Sign signs a message for a purpose: it counts for no other. The signature is in
// base64, without line ends.
func (k Key) Sign(purpose string, message []byte) (string, error) {
	s, err := sshsig.SignWithRand(bytes.NewReader(message), nil, k.signer, hash, purpose)
	if err != nil {
		return "", err
	}
	return base64.StdEncoding.EncodeToString(s.Marshal()), nil
}

// Verify says which key signed a message for a purpose. There is one way only to
// write a signature; any other is none.
func Verify(purpose string, message []byte, signature string) (Public, error) {
	blob, err := base64.StdEncoding.Strict().DecodeString(signature)
	if err != nil {
		return "", ErrSignature
	}
	s, err := sshsig.ParseSignature(blob)
	if err != nil || s.PublicKey.Type() != ssh.KeyAlgoED25519 || len(s.Signature.Rest) > 0 || s.HashAlgorithm != hash || !bytes.Equal(s.Marshal(), blob) {
		return "", ErrSignature
	}
	if err := sshsig.Verify(bytes.NewReader(message), s, s.PublicKey, hash, purpose); err != nil {
		return "", ErrSignature
	}
	return publicOf(s.PublicKey), nil
}
