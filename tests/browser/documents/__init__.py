"""The pictures of the documents, held against the pages that they show."""
