-- What tables the catalogue has: each family that it holds parts of has one of its own.
SELECT table_name FROM information_schema.tables ORDER BY table_name
