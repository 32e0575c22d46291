package account

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"encoding/hex"
	"hash/crc32"
	"strings"
)

// A key reads partwright_, 26 random characters and 7 of a checksum, in the base 32
// of RFC 4648. The prefix lets secret scanners find a key that leaked; the
// checksum tells a mistyped one, and most guesses, without asking the database.
// What opens a session or stands in a link is made the same way.
const (
	prefix        = "partwright_"
	sessionPrefix = "partwright-session_"
	linkPrefix    = "partwright-link_"
	randomLength  = 26
	sumLength     = 7
)

var base32Text = base32.StdEncoding.WithPadding(base32.NoPadding)

// newText returns a new text of 130 random bits.
func newText(prefix string) string {
	text := prefix + rand.Text()
	return text + checksum(text)
}

// checksum is the CRC-32 of ISO 3309 as 7 characters.
func checksum(text string) string {
	var sum [4]byte
	binary.BigEndian.PutUint32(sum[:], crc32.ChecksumIEEE([]byte(text)))
	return base32Text.EncodeToString(sum[:])
}

// wellFormed tells whether a text can be one with the prefix at all.
func wellFormed(prefix, text string) bool {
	if len(text) != len(prefix)+randomLength+sumLength || !strings.HasPrefix(text, prefix) {
		return false
	}
	body, sum := text[:len(text)-sumLength], text[len(text)-sumLength:]
	return checksum(body) == sum
}

// hashOf is what is kept of a key. Guessing 130 random bits is hopeless with a
// fast hash too; slow ones are for what people think up (NIST SP 800-63B
// asks for a slow one of look-up secrets below 112 bits only).
func hashOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}
