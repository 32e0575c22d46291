// Package address reads and writes what addresses name: files, and objects in
// S3-compatible storage. Begin at [Open] and [Storage].
//
// An address is the path of a file, "file:///PATH", or "s3://BUCKET/KEY". Nothing in a
// key is escaped. What is written appears whole or not at all, and only where nothing
// was; what is read is read again where it breaks off.
//
// Credentials, region and endpoint come from the variables and files that programs for
// such storage share (AWS_ACCESS_KEY_ID and its kin, ~/.aws/credentials, the role of a
// machine), and stand in no message.
package address
