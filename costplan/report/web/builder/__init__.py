"""The builder's page: quotes and jobs, how the build stands to the book, what it costs and what more money buys."""

from costplan.report.web.builder.answers import BuilderAnswers, Choices, Quoted
from costplan.report.web.builder.page import builder_page

__all__ = ["BuilderAnswers", "Choices", "Quoted", "builder_page"]
