package signature

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"encoding/pem"
	"errors"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/crypto/ssh"
	"golang.org/x/crypto/ssh/agent"
)

// A private key that others can read is refused as ssh refuses it (ssh: authfile.c, sshkey_perm_ok: any of 077).
func TestReadableKeys(t *testing.T) {
	if !permissions {
		t.Skip("this system has no such permissions")
	}
	private, _ := key(t, 1)
	for mode, good := range map[os.FileMode]bool{
		0o600: true, 0o400: true, 0o700: true, 0o644: false, 0o640: false, 0o604: false, 0o620: false, 0o601: false,
	} {
		_, err := Load(keyFile(t, private, mode))
		if good && err != nil || !good && (err == nil || !strings.Contains(err.Error(), "chmod 600")) {
			t.Errorf("%#o: %v", mode, err)
		}
	}
}

// serve puts an agent on a socket and into the environment.
func serve(t *testing.T, a agent.Agent) {
	t.Helper()
	dir, err := os.MkdirTemp("", "agent") // short, for a socket's path is
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	socket := filepath.Join(dir, "s")
	l, err := net.Listen("unix", socket)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go agent.ServeAgent(a, conn)
		}
	}()
	t.Setenv("SSH_AUTH_SOCK", socket)
}

func check(t *testing.T, public, file, sig []byte, role string) {
	t.Helper()
	s, err := ReadSigner(public)
	if err == nil {
		err = s.Check(file, sig, role)
	}
	if err != nil {
		t.Error(err)
	}
}

// A key in ssh-agent signs by its public key, and by its private one that is behind a passphrase, to the same bytes as
// the key itself.
func TestAgent(t *testing.T) {
	ring := agent.NewKeyring()
	serve(t, ring)
	private, public := key(t, 1)
	raw := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{1}, ed25519.SeedSize))
	if _, err := Load(keyFile(t, public, 0o644)); err == nil || !strings.Contains(err.Error(),
		"does not hold the key") {
		t.Errorf("an empty agent: %v", err)
	}
	if err := ring.Add(agent.AddedKey{PrivateKey: raw}); err != nil {
		t.Fatal(err)
	}
	locked, err := ssh.MarshalPrivateKeyWithPassphrase(raw, "", []byte("secret"))
	if err != nil {
		t.Fatal(err)
	}
	file := []byte("a report")
	want := sign(t, private, file, "reviewed")
	for name, path := range map[string]string{
		"public": keyFile(t, public, 0o644), "behind a passphrase": keyFile(t, pem.EncodeToMemory(locked), 0o600),
	} {
		k, err := Load(path)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		sig, err := k.Sign(file, "reviewed")
		if err != nil || !bytes.Equal(sig, want) {
			t.Errorf("%s: %v, want the bytes that the key itself gives", name, err)
		}
		if err := k.Close(); err != nil {
			t.Error(err)
		}
	}
	if _, err := Load(keyFile(t, pem.EncodeToMemory(locked), 0o644)); err == nil || !strings.Contains(err.Error(),
		"chmod 600") {
		t.Errorf("readable by others: %v", err)
	}
}

// hardware plays an agent with one hardware key as OpenSSH's PROTOCOL.u2f has it: it signs the hash of the application,
// flags, a counter that goes up, and the hash of the message.
type hardware struct {
	agent.ExtendedAgent
	key     ed25519.PrivateKey
	counter uint32
}

const application = "ssh:"

func (h *hardware) public() ssh.PublicKey {
	p, err := ssh.ParsePublicKey(ssh.Marshal(struct {
		Name        string
		Key         []byte
		Application string
	}{ssh.KeyAlgoSKED25519, h.key.Public().(ed25519.PublicKey), application}))
	if err != nil {
		panic(err)
	}
	return p
}

func (h *hardware) List() ([]*agent.Key, error) {
	p := h.public()
	return []*agent.Key{{Format: p.Type(), Blob: p.Marshal()}}, nil
}

func (h *hardware) Sign(key ssh.PublicKey, data []byte) (*ssh.Signature, error) {
	return h.SignWithFlags(key, data, 0)
}

func (h *hardware) SignWithFlags(key ssh.PublicKey, data []byte, _ agent.SignatureFlags) (*ssh.Signature, error) {
	if !bytes.Equal(key.Marshal(), h.public().Marshal()) {
		return nil, errors.New("no such key")
	}
	h.counter++
	rest := binary.BigEndian.AppendUint32([]byte{1}, h.counter) // user present
	app, message := sha256.Sum256([]byte(application)), sha256.Sum256(data)
	signed := append(append(append([]byte{}, app[:]...), rest...), message[:]...)
	return &ssh.Signature{Format: ssh.KeyAlgoSKED25519, Blob: ed25519.Sign(h.key, signed), Rest: rest}, nil
}

// A key in hardware signs through the agent; each of its signatures is another and each belongs.
func TestHardwareKey(t *testing.T) {
	h := &hardware{key: ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize))}
	serve(t, h)
	public := ssh.MarshalAuthorizedKey(h.public())
	k, err := Load(keyFile(t, public, 0o644))
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	file := []byte("a report")
	var sigs [2][]byte
	for i := range sigs {
		if sigs[i], err = k.Sign(file, "approved"); err != nil {
			t.Fatal(err)
		}
		check(t, public, file, sigs[i], "approved")
	}
	if bytes.Equal(sigs[0], sigs[1]) {
		t.Error("the counter does not enter the signature")
	}
	s, err := ReadSigner(public)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Check([]byte("another report"), sigs[0], "approved"); err == nil {
		t.Error("a signature of another file is taken")
	}
}
