package signature

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"strings"
	"time"

	"golang.org/x/crypto/ssh"
	"golang.org/x/crypto/ssh/agent"

	"wedgework/reports/files"
)

// Key is what signs: a private key at hand, or one that ssh-agent holds.
type Key struct {
	signer ssh.Signer
	close  func() error
}

// Close lets go of the agent.
func (k *Key) Close() error { return k.close() }

// Load makes a key ready. The file holds a private key of OpenSSH, which nobody else may be able to read, or a public
// one, whose private one ssh-agent holds: that of a hardware key, say. So it is with a private key behind a passphrase,
// for an unattended run has nobody to ask.
func Load(path string) (*Key, error) {
	data, err := files.ReadUpTo(path, mostKey)
	if err != nil {
		return nil, err
	}
	k, err := load(path, data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return k, nil
}

// mostKey bounds the file of a key; an RSA key of 16,384 bits has 13 kB.
const mostKey = 1 << 16

func load(path string, data []byte) (*Key, error) {
	if _, _, _, _, err := ssh.ParseAuthorizedKey(data); err == nil {
		public, err := ReadSigner(data)
		if err != nil {
			return nil, err
		}
		return fromAgent(public.key)
	}
	signer, err := ssh.ParsePrivateKey(data)
	var locked *ssh.PassphraseMissingError
	if errors.As(err, &locked) {
		if err := private(path); err != nil {
			return nil, err
		}
		return unlocked(path, locked.PublicKey)
	}
	if err != nil {
		return nil, fmt.Errorf("not a private key as ssh-keygen writes them, nor the public one of a key in "+
			"ssh-agent: %w",
			err)
	}
	if err := private(path); err != nil {
		return nil, err
	}
	if err := checkType(signer.PublicKey()); err != nil {
		return nil, err
	}
	return &Key{signer, func() error { return nil }}, nil
}

// private refuses a private key that others can read, as ssh does.
func private(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if mode := info.Mode().Perm(); permissions && mode&0o077 != 0 {
		return fmt.Errorf("found permissions %#o, which let others read the private key; run chmod 600 %s", mode, path)
	}
	return nil
}

// unlocked finds a key that is behind a passphrase in ssh-agent.
func unlocked(path string, public ssh.PublicKey) (*Key, error) {
	if public == nil { // an old format, which hides it
		if data, err := files.ReadUpTo(path+".pub", mostKey); err == nil {
			if s, err := ReadSigner(data); err == nil {
				public = s.key
			}
		}
	}
	advice := fmt.Sprintf("the key is protected by a passphrase; unlock it first with ssh-add %s", path)
	if public == nil {
		return nil, errors.New(advice)
	}
	k, err := fromAgent(public)
	if err != nil {
		return nil, fmt.Errorf("%s (%w)", advice, err)
	}
	return k, nil
}

// agentTime is what ssh-agent may take to answer: somebody may have to touch a hardware key. A choice.
const agentTime = 2 * time.Minute

// fromAgent finds the private key of a public one in ssh-agent.
func fromAgent(public ssh.PublicKey) (*Key, error) {
	if err := checkType(public); err != nil {
		return nil, err
	}
	socket := os.Getenv("SSH_AUTH_SOCK")
	if socket == "" {
		return nil, errors.New("found a public key and no ssh-agent (SSH_AUTH_SOCK is not set); start one and add " +
			"the private key with ssh-add")
	}
	conn, err := net.Dial("unix", socket)
	if err != nil {
		return nil, fmt.Errorf("ssh-agent: %w", err)
	}
	if err := conn.SetDeadline(time.Now().Add(agentTime)); err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	signers, err := agent.NewClient(conn).Signers()
	if err != nil {
		return nil, errors.Join(fmt.Errorf("ssh-agent: %w", err), conn.Close())
	}
	for _, s := range signers {
		if bytes.Equal(s.PublicKey().Marshal(), public.Marshal()) {
			return &Key{s, conn.Close}, nil
		}
	}
	missing := fmt.Errorf("ssh-agent does not hold the key %s; add it with ssh-add", ssh.FingerprintSHA256(public))
	return nil, errors.Join(missing, conn.Close())
}

// types are those of keys that may sign: Ed25519, and keys in hardware.
var types = []string{ssh.KeyAlgoED25519, ssh.KeyAlgoSKED25519, ssh.KeyAlgoSKECDSA256}

func checkType(key ssh.PublicKey) error {
	for _, t := range types {
		if key.Type() == t {
			return nil
		}
	}
	return fmt.Errorf("found a key of type %s, expected %s; ssh-keygen -t ed25519 makes one",
		key.Type(), strings.Join(types, " or "))
}

// there reports whether a name is taken, by whatever.
func there(path string) bool {
	_, err := os.Lstat(path)
	return !errors.Is(err, fs.ErrNotExist)
}
