// Package signature signs a report beside its file and checks such signatures, in the format of OpenSSH
// (PROTOCOL.sshsig) with Ed25519 keys (RFC 8032) or keys in hardware (PROTOCOL.u2f). Whoever has OpenSSH can do without
// this program, with the namespace file, or reviewed@wedgework for a signature in the role of a reviewer:
//
//	ssh-keygen -Y sign -n file -f KEY REPORT.pdf
//	ssh-keygen -Y verify -n file -f ALLOWED_SIGNERS -I NAME -s REPORT.pdf.sig < REPORT.pdf
//
// An Ed25519 signature asks no clock and no chance: the same key and file give the same bytes. A key in hardware counts
// its signatures. A signature says that who held the key had the file; whose key it is, is for the reader to know.
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

// Sign returns the signature of a file in a role, as it is written beside it.
func (k *Key) Sign(file []byte, role string) ([]byte, error) {
	s, err := sshsig.Sign(bytes.NewReader(file), k.signer, sshsig.HashSHA512, namespaceOf(role))
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
	}
	if err := checkType(key); err != nil {
		return nil, err
	}
	return &Signer{key}, nil
}

// Fingerprint is how OpenSSH names the key: SHA256 and a hash.
func (s *Signer) Fingerprint() string { return ssh.FingerprintSHA256(s.key) }

// Check tells whether a signature is that of a file by the signer in a role; an error says why not.
func (s *Signer) Check(file, signature []byte, role string) error {
	const most = 1 << 16 // bytes; a signature has about 300
	if len(signature) > most {
		return fmt.Errorf("found %d bytes, expected a signature", len(signature))
	}
	sig, err := sshsig.Unarmor(signature)
	if err != nil {
		return fmt.Errorf("not a signature: %w", err)
	}
	if err := sshsig.Verify(bytes.NewReader(file), sig, s.key, sig.HashAlgorithm, namespaceOf(role)); err != nil {
		switch {
		case errors.Is(err, sshsig.ErrNamespaceMismatch):
			return fmt.Errorf("it was made as %s, expected %s", sig.Namespace, namespaceOf(role))
		case errors.Is(err, sshsig.ErrPublicKeyMismatch):
			return fmt.Errorf("it was made with another key, %s", ssh.FingerprintSHA256(sig.PublicKey))
		}
		return err
	}
	return nil
}
