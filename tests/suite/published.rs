//! Published standards and examples: Leipzig Glossing Rules, Universal Dependencies, Unicode.
