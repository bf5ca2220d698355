"""SENDING: whether one message may leave at this moment, and why not. Nothing here sends."""

from aftercare.sending.may import Answer, May, Today, may

__all__ = ["Answer", "May", "Today", "may"]
