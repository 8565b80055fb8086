package signature

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/pem"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ampwalk/diagnose/base/effort"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/crypto/ssh"
)

const purpose = "ampwalk-test"

func newTestKey(t *testing.T) Key {
	t.Helper()
	k, err := New(rand.Reader)
	require.NoError(t, err)
	return k
}

// The same 32 bytes of chance give the key of RFC 8032, section 7.1, test 1.
func TestKeyOfRFC8032(t *testing.T) {
	secret := "\x9d\x61\xb1\x9d\xef\xfd\x5a\x60\xba\x84\x4a\xf4\x92\xec\x2c\xc4\x44\x49\xc5\x69\x7b\x32\x69\x19\x70\x3b\xac\x03\x1c\xae\x7f\x60"
	public := "\xd7\x5a\x98\x01\x82\xb1\x0a\xb7\xd5\x4b\xfe\xd3\xc9\x64\x07\x3a\x0e\xe1\x72\xf3\xda\xa6\x23\x25\xaf\x02\x1a\x68\xf7\x07\x51\x1a"
	k, err := New(strings.NewReader(secret))
	require.NoError(t, err)
	assert.Equal(t, public, string(k.private.Public().(ed25519.PublicKey)))
}

func TestSealAndOpen(t *testing.T) {
	k := newTestKey(t)
	file, err := k.Seal([]byte("two words"), "A. Person")
	require.NoError(t, err)
	assert.NotContains(t, string(file), string(k.private.Seed()))

	again, err := Open(file, []byte("two words"))
	require.NoError(t, err)
	assert.Equal(t, k.Public(), again.Public())
	public, err := PublicOf(file)
	require.NoError(t, err)
	assert.Equal(t, k.Public(), public)
	for _, pass := range []string{"", "two word", "two words "} {
		_, err = Open(file, []byte(pass))
		require.ErrorIs(t, err, ErrPassphrase, "%q", pass)
	}
	_, err = k.Seal(nil, "")
	require.ErrorIs(t, err, ErrNoPassphrase)
	_, err = Open([]byte("no key"), []byte("x"))
	require.ErrorIs(t, err, ErrKey)

	plain, err := ssh.MarshalPrivateKey(k.private, "")
	require.NoError(t, err)
	_, err = Open(pem.EncodeToMemory(plain), []byte("x"))
	require.ErrorIs(t, err, ErrNoPassphrase)
}

func TestVerify(t *testing.T) {
	k := newTestKey(t)
	message := []byte("what was accepted")
	sig, err := k.Sign(purpose, message)
	require.NoError(t, err)
	by, err := Verify(purpose, message, sig)
	require.NoError(t, err)
	assert.Equal(t, k.Public(), by)

	_, err = Verify("another-purpose", message, sig)
	require.ErrorIs(t, err, ErrSignature)
	_, err = Verify(purpose, append(message, '.'), sig)
	require.ErrorIs(t, err, ErrSignature)
	for i := range message {
		changed := bytes.Clone(message)
		changed[i] ^= 1 << (i % 8)
		_, err = Verify(purpose, changed, sig)
		require.ErrorIs(t, err, ErrSignature, "byte %d of the message", i)
	}
	for i := range sig {
		for bit := range 8 {
			changed := []byte(sig)
			changed[i] ^= 1 << bit
			_, err = Verify(purpose, message, string(changed))
			require.ErrorIs(t, err, ErrSignature, "bit %d of byte %d of the signature", bit, i)
		}
		_, err = Verify(purpose, message, sig[:i])
		require.ErrorIs(t, err, ErrSignature, "cut at %d", i)
	}
}

// OpenSSH's own program opens our keys, checks our signatures, and signs for us.
func TestAgainstSSHKeygen(t *testing.T) {
	program, err := exec.LookPath("ssh-keygen")
	if err != nil {
		if effort.All() {
			require.NoError(t, err)
		}
		t.Skip("ssh-keygen is not installed")
	}
	dir := t.TempDir()
	file := func(name, text string) string {
		name = filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
		return name
	}
	run := func(stdin string, args ...string) string {
		c := exec.Command(program, args...)
		c.Stdin = strings.NewReader(stdin)
		out, err := c.CombinedOutput()
		require.NoError(t, err, "%s", out)
		return string(out)
	}
	k := newTestKey(t)
	sealed, err := k.Seal([]byte("two words"), "comment")
	require.NoError(t, err)
	private := file("key", string(sealed))
	assert.Equal(t, string(k.Public()), strings.TrimSuffix(strings.TrimSpace(run("", "-y", "-P", "two words", "-f", private)), " comment"))
	assert.Contains(t, run("", "-l", "-f", file("key.pub", string(k.Public())+"\n")), k.Public().Fingerprint())

	sig, err := k.Sign(purpose, []byte("a message"))
	require.NoError(t, err)
	allowed := file("allowed", "person@ampwalk.example "+string(k.Public())+"\n")
	armoured := file("ours.sig", "-----BEGIN SSH SIGNATURE-----\n"+sig+"\n-----END SSH SIGNATURE-----\n")
	assert.Contains(t, run("a message", "-Y", "verify", "-f", allowed, "-I", "person@ampwalk.example", "-n", purpose, "-s", armoured), "Good")

	run("", "-p", "-P", "two words", "-N", "", "-f", private) // it asks for none where it signs
	message := file("message", "theirs")
	run("", "-Y", "sign", "-f", private, "-n", purpose, message)
	theirs, err := os.ReadFile(message + ".sig")
	require.NoError(t, err)
	body := strings.ReplaceAll(string(theirs), "\n", "")
	body = strings.TrimSuffix(strings.TrimPrefix(body, "-----BEGIN SSH SIGNATURE-----"), "-----END SSH SIGNATURE-----")
	by, err := Verify(purpose, []byte("theirs"), body)
	require.NoError(t, err)
	assert.Equal(t, k.Public(), by)
}

func day(n int) time.Time { return time.Date(2026, 3, n, 12, 0, 0, 0, time.UTC) }

func TestVouch(t *testing.T) {
	a, b, c, unknown := newTestKey(t).Public(), newTestKey(t).Public(), newTestKey(t).Public(), newTestKey(t).Public()
	n, err := ParseNames("names.toml", []byte(`
[[person]]
name = "A. Person"
key = "`+a+` a comment"
from = 2026-03-05T00:00:00Z

[[person]]
name = "B. Person"
key = "`+b+`"
from = 2026-03-05T00:00:00Z
until = 2026-03-10T00:00:00Z

[[person]]
name = "C. Person"
key = "`+c+`"
from = 2026-03-05T00:00:00Z
revoked = 2026-03-10T00:00:00Z
reason = "the laptop was stolen"
`))
	require.NoError(t, err)
	assert.Equal(t, "B. Person", n.Of(b))
	assert.Empty(t, n.Of(unknown))
	never := time.Time{}
	tests := []struct {
		name         string
		key          Public
		who          string
		signed, seen time.Time
		problem      string
	}{
		{"good", a, "A. Person", day(6), never, ""},
		{"unknown key", unknown, "A. Person", day(6), never, "the names file does not have this key"},
		{"another's name", a, "B. Person", day(6), never, `belongs to "A. Person"`},
		{"before its time", a, "A. Person", day(4), never, "valid from 2026-03-05"},
		{"while it lasted", b, "B. Person", day(9), never, ""},
		{"after its end", b, "B. Person", day(11), never, "valid until 2026-03-10"},
		{"revoked, by the signer's claim before", c, "C. Person", day(6), never, "no ledger shows"},
		{"revoked, seen before", c, "C. Person", day(6), day(7), ""},
		{"revoked, seen after", c, "C. Person", day(6), day(11), "first seen on 2026-03-11"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := n.Vouch(tt.key, tt.who, tt.signed, tt.seen)
			if tt.problem == "" {
				require.NoError(t, err)
			} else {
				require.ErrorContains(t, err, tt.problem)
			}
		})
	}
	require.ErrorIs(t, Names{}.Vouch(a, "A. Person", day(6), never), ErrUnknownKey)
}

func TestNamesFileWithMistakes(t *testing.T) {
	key := string(newTestKey(t).Public())
	good := "[[person]]\nname = \"A\"\nkey = \"" + key + "\"\nfrom = 2026-03-05T00:00:00Z\n"
	tests := []struct{ name, text, problem string }{
		{"no key", "[[person]]\nname = \"A\"\nkey = \"ssh-rsa AAAA\"\nfrom = 2026-03-05T00:00:00Z\n", "names.toml:3: person.key: this is not an Ed25519 key"},
		{"key twice", good + good, "names.toml:7: person.key: is in the file already"},
		{"no from", "[[person]]\nname = \"A\"\nkey = \"" + key + "\"\n", "names.toml:1: person.from: "},
		{"ends before it begins", good + "until = 2026-03-01T00:00:00Z\n", "names.toml:5: person.until: is not after from"},
		{"revoked without reason", good + "revoked = 2026-03-06T00:00:00Z\n", "names.toml:1: person.reason: "},
		{"reason alone", good + "reason = \"x\"\n", "names.toml:5: person.reason: is given without revoked"},
		{"unknown key of the file", good + "untl = 3\n", "names.toml:5: person.untl: "},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseNames("names.toml", []byte(tt.text))
			require.ErrorContains(t, err, tt.problem)
		})
	}
}

func FuzzParseNames(f *testing.F) {
	f.Add([]byte("[[person]]\nname = \"A\"\nkey = \"ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIA\"\nfrom = 2026-03-05T00:00:00Z\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		n, err := ParseNames("names.toml", data)
		for _, p := range n.people {
			if err == nil {
				require.NotEmpty(t, p.Name)
				require.NotEmpty(t, p.Key)
			}
		}
	})
}

// Whatever stands for a key or a signature, it is one or it is refused.
func FuzzKeys(f *testing.F) {
	k, err := New(rand.Reader)
	require.NoError(f, err)
	sealed, err := k.Seal([]byte("only for tests"), "A. B.")
	require.NoError(f, err)
	signed, err := k.Sign("test", []byte("message"))
	require.NoError(f, err)
	f.Add(sealed)
	f.Add([]byte(signed))
	f.Add([]byte(k.Public()))
	f.Add([]byte("ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIA== \u202e"))
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, public := range []func() (Public, error){
			func() (Public, error) { return PublicOf(data) },
			func() (Public, error) { return ParsePublic(string(data)) },
			func() (Public, error) { return Verify("test", []byte("message"), string(data)) },
		} {
			p, err := public()
			if err != nil {
				continue
			}
			again, err := ParsePublic(string(p))
			require.NoError(t, err)
			require.Equal(t, p, again)
			require.NotEmpty(t, p.Fingerprint())
		}
	})
}
