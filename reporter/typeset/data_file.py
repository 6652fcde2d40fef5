"""Read a brand or a layout from its file, with all mistakes at their lines."""

from typing import TypeVar

from pydantic import BaseModel, ValidationError

from reporter.complaints import complaints
from reporter.errors import InputRefusedError
from reporter.yaml_source import YamlSource, read_yaml

Data = TypeVar("Data", bound=BaseModel)


def read_data_file(text: bytes, name: str, model: type[Data]) -> tuple[Data, YamlSource]:
    """Return the typed contents of a data file, and where everything stands in it.

    Raises
    ------
    InputRefusedError
        With every mistake.
    """
    return as_model(read_yaml(text, name), model)


def as_model(source: YamlSource, model: type[Data]) -> tuple[Data, YamlSource]:
    """Return the typed contents of a file that is read already; see `read_data_file`."""
    try:
        return model.model_validate(source.value), source
    except ValidationError as error:
        found = error.errors(include_url=False, include_input=False)
        raise InputRefusedError(complaints(found, source, model, source.value)) from None
