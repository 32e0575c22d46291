module partwright

go 1.26.8
