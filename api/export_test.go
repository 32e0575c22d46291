package api

import "net/http"

// Handler returns the public side of a server.
func (s *Server) Handler() http.Handler { return s.public.Handler }

// OperatorHandler returns the operator's side of a server.
func (s *Server) OperatorHandler() http.Handler { return s.operator.Handler }
