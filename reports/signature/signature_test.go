package signature

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rsa"
	"encoding/hex"
	"encoding/pem"
	"math/rand"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/crypto/ssh"

	"wedgework/reports/require"
)

// key makes a key pair of a seed, as ssh-keygen writes them.
func key(t *testing.T, seed byte) (private, public []byte) {
	t.Helper()
	k := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{seed}, ed25519.SeedSize))
	block, err := ssh.MarshalPrivateKey(k, "quality")
	if err != nil {
		t.Fatal(err)
	}
	p, err := ssh.NewPublicKey(k.Public())
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(block), ssh.MarshalAuthorizedKey(p)
}

// keyFile writes a key where only this person can read it.
func keyFile(t *testing.T, data []byte, mode os.FileMode) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "key")
	if err := os.WriteFile(path, data, mode); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(path, mode); err != nil { // whatever the umask
		t.Fatal(err)
	}
	return path
}

func sign(t *testing.T, private, file []byte, role string) []byte {
	t.Helper()
	k, err := Load(keyFile(t, private, 0o600))
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	s, err := k.Sign(file, role)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSignAndCheck(t *testing.T) {
	private, public := key(t, 1)
	file := []byte("a report")
	sig := sign(t, private, file, "")
	if again := sign(t, private, file, ""); !bytes.Equal(sig, again) {
		t.Error("the same key and file gave other bytes")
	}
	signer, err := ReadSigner(public)
	if err != nil {
		t.Fatal(err)
	}
	if err := signer.Check(file, sig, ""); err != nil {
		t.Error(err)
	}
	_, stranger := key(t, 2)
	other, err := ReadSigner(stranger)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name      string
		signer    *Signer
		file, sig []byte
		role      string
		want      string
	}{
		{"another file", signer, []byte("a report."), sig, "", "signature"},
		{"another role", signer, file, sig, "approved", "it was made as file, expected approved@wedgework"},
		{"another key", other, file, sig, "", "it was made with another key, SHA256:"},
		{"no signature", signer, file, []byte("none"), "", "not a signature"},
		{"cut short", signer, file, sig[:len(sig)/2], "", "not a signature"},
		{"too long", signer, file, bytes.Repeat(sig, 1000), "", "expected a signature"},
	} {
		if err := c.signer.Check(c.file, c.sig, c.role); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

func TestKeysThatAreRefused(t *testing.T) {
	private, public := key(t, 1)
	weak, err := rsa.GenerateKey(rand.New(rand.NewSource(1)), 2048)
	if err != nil {
		t.Fatal(err)
	}
	block, err := ssh.MarshalPrivateKey(weak, "")
	if err != nil {
		t.Fatal(err)
	}
	locked, err := ssh.MarshalPrivateKeyWithPassphrase(ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize)), "",
		[]byte("secret"))
	if err != nil {
		t.Fatal(err)
	}
	rsaPublic, err := ssh.NewPublicKey(weak.Public())
	if err != nil {
		t.Fatal(err)
	}
	t.Setenv("SSH_AUTH_SOCK", "")
	for _, c := range []struct {
		name, want string
		data       []byte
	}{
		{"a public key", "no ssh-agent", public},
		{"nothing", "not a private key", nil},
		{"RSA", "found a key of type ssh-rsa, expected ssh-ed25519", pem.EncodeToMemory(block)},
		{"a passphrase", "protected by a passphrase", pem.EncodeToMemory(locked)},
	} {
		if _, err := Load(keyFile(t, c.data, 0o600)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
	for _, c := range []struct {
		name, want string
		data       []byte
	}{
		{"a private key", "not a public key", private},
		{"RSA", "found a key of type ssh-rsa", ssh.MarshalAuthorizedKey(rsaPublic)},
		{"two keys", "expected one", append(public, public...)},
	} {
		if _, err := ReadSigner(c.data); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

// RFC 8032, section 7.1, test 1: the library's Ed25519 is that of the standard (values from memory of the RFC, and
// confirmed by their own equation).
func TestEd25519IsTheStandards(t *testing.T) {
	seed, _ := hex.DecodeString("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
	want := "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
	if got := hex.EncodeToString(ed25519.NewKeyFromSeed(seed).Public().(ed25519.PublicKey)); got != want {
		t.Errorf("public key %s, want %s", got, want)
	}
}

// OpenSSH's own program accepts our signatures, and we accept its.
func TestAgainstOpenSSH(t *testing.T) {
	tool := require.Tool(t, "ssh-keygen")
	dir := t.TempDir()
	put := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	private, public := key(t, 1)
	file := []byte("%PDF-1.7\nnot quite a report\n")
	report := put("r.pdf", file)
	verify := exec.Command(tool, "-Y", "verify", "-n", "file", "-I", "quality", "-f", put("allowed",
		append([]byte("quality "), public...)), "-s", put("ours.sig", sign(t, private, file, "")))
	verify.Stdin = bytes.NewReader(file)
	if out, err := verify.CombinedOutput(); err != nil {
		t.Errorf("ssh-keygen does not accept our signature: %v\n%s", err, out)
	}
	if out, err := exec.Command(tool, "-Y", "sign", "-n", "file", "-f", put("key", private),
		report).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	theirs, err := os.ReadFile(report + Extension)
	if err != nil {
		t.Fatal(err)
	}
	signer, err := ReadSigner(public)
	if err != nil {
		t.Fatal(err)
	}
	if err := signer.Check(file, theirs, ""); err != nil {
		t.Errorf("we do not accept the signature of ssh-keygen: %v", err)
	}
}
