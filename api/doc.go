// Package api serves Partwright over HTTP. The contract comes first: openapi.yaml
// is what clients read, what the routes and models are generated from, and what
// requests and, in tests, all answers are checked against.
//
// Every answer of a handler, an error too, is as the contract has it. What net/http
// refuses before a handler sees it (a malformed request line, headers past their
// limit) is answered by net/http itself, in plain text.
//
// Begin with [NewServer]. A handler has three steps: decode, call the worker,
// encode; every error goes through the table in problems.go.
package api

//go:generate go tool -modfile=../.ci/tools/go.mod oapi-codegen -config oapi-codegen.yaml -o openapi.gen.go openapi.yaml
