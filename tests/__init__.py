"""Tests of Tailrace, and the pages made from them."""
