"""RS-274 text after NISTIR 6556: a writer, and quite apart from it a reader for anybody's text."""
