"""The history of visits in a database: SQLite in the user's data folder, or a shared PostgreSQL by its URL."""
