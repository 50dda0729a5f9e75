// Package signature signs a report beside its file and checks such signatures, in the format of OpenSSH
// (PROTOCOL.sshsig) with Ed25519 keys (RFC 8032). Whoever has OpenSSH can do without this program:
//
//	ssh-keygen -Y sign -n file -f KEY REPORT.pdf
//	ssh-keygen -Y verify -n file -f ALLOWED_SIGNERS -I NAME -s REPORT.pdf.sig < REPORT.pdf
//
// An Ed25519 signature asks no clock and no chance: the same key and file give the same bytes. A signature says that
// who held the key had the file; whose key it is, is for the reader to know.
package signature

import (
	"bytes"
	"errors"
	"fmt"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// Extension is what the name of a signature adds to that of the file it signs.
const Extension = ".sig"

// namespace is the one that ssh-keygen documents for signatures of files.
const namespace = "file"

// Key is a private key.
type Key struct{ signer ssh.Signer }

// ReadKey reads a private key file of OpenSSH. One that is protected by a passphrase is an error: an unattended run has
// nobody to ask.
func ReadKey(data []byte) (*Key, error) {
	signer, err := ssh.ParsePrivateKey(data)
	var locked *ssh.PassphraseMissingError
	switch {
	case errors.As(err, &locked):
		return nil,
			errors.New("the key is protected by a passphrase, and nobody is asked for one: sign with ssh-keygen -Y sign -n " +
				"file -f KEY REPORT.pdf")
	case err != nil:
		return nil, fmt.Errorf("not a private key as ssh-keygen writes them: %w", err)
	}
	if t := signer.PublicKey().Type(); t != ssh.KeyAlgoED25519 {
		return nil, fmt.Errorf("found a key of type %s, expected %s: ssh-keygen -t ed25519 makes one", t, ssh.KeyAlgoED25519)
	}
	return &Key{signer}, nil
}

// Sign returns the signature of a file, as it is written beside it.
func (k *Key) Sign(file []byte) ([]byte, error) {
	s, err := sshsig.Sign(bytes.NewReader(file), k.signer, sshsig.HashSHA512, namespace)
	if err != nil {
		return nil, err
	}
	return sshsig.Armor(s), nil
}

// Signer is a public key.
type Signer struct{ key ssh.PublicKey }

// ReadSigner reads a public key file of OpenSSH: one line with type, key and perhaps a comment.
func ReadSigner(data []byte) (*Signer, error) {
	key, _, _, rest, err := ssh.ParseAuthorizedKey(data)
	switch {
	case err != nil:
		return nil, fmt.Errorf("not a public key as ssh-keygen writes them: %w", err)
	case len(bytes.TrimSpace(rest)) > 0:
		return nil, errors.New("found more after the first key, expected one")
	case key.Type() != ssh.KeyAlgoED25519:
		return nil, fmt.Errorf("found a key of type %s, expected %s", key.Type(), ssh.KeyAlgoED25519)
	}
	return &Signer{key}, nil
}

// Fingerprint is how OpenSSH names the key: SHA256 and a hash.
func (s *Signer) Fingerprint() string { return ssh.FingerprintSHA256(s.key) }

// Check tells whether a signature is that of a file by the signer; an error says why not.
func (s *Signer) Check(file, signature []byte) error {
	const most = 1 << 16 // bytes; a signature has about 300
	if len(signature) > most {
		return fmt.Errorf("found %d bytes, expected a signature", len(signature))
	}
	sig, err := sshsig.Unarmor(signature)
	if err != nil {
		return fmt.Errorf("not a signature: %w", err)
	}
	if err := sshsig.Verify(bytes.NewReader(file), sig, s.key, sig.HashAlgorithm, namespace); err != nil {
		if errors.Is(err, sshsig.ErrPublicKeyMismatch) {
			return fmt.Errorf("it was made with another key, %s", ssh.FingerprintSHA256(sig.PublicKey))
		}
		return err
	}
	return nil
}
