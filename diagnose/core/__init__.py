"""Reasoning, one way: answers -> facts -> rules -> findings -> posterior -> next check or conclusion. No I/O."""
