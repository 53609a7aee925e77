"""Knowledge base: YAML text in, a checked KnowledgeBase out. The content itself lives in knowledge/."""
