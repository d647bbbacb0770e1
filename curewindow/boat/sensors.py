"""What is told of sensors in boat.toml: where their messages come from and what each stands for."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from curewindow.handwritten import FileModel
from curewindow.quantity import Duration


class Broker(FileModel):
    """The MQTT broker that sensors report to."""

    host: str = Field("localhost", min_length=1)
    port: int | None = Field(None, ge=1, le=65535, description="else 1883; with tls 8883")
    tls: bool = Field(False, description="speak TLS and check the broker's certificate")
    ca_file: str | None = Field(
        None,
        min_length=1,
        description="certificate of who signed the broker's, in the boat folder; else the system's",
    )
    login_env: str | None = Field(
        None,
        min_length=1,
        description="name of the environment variable that holds 'name:password'",
    )
    login_file: str | None = Field(
        None,
        min_length=1,
        description="file that holds 'name:password', in the boat folder, readable by you alone",
    )
    state_topic: str | None = Field(
        None,
        min_length=1,
        description="topic to say 'online' under, and 'offline' as last will; else nothing is said",
    )


class SignalKServer(FileModel):
    """The Signal K server aboard."""

    address: str = Field("http://localhost:3000", min_length=1)
    token_env: str | None = Field(
        None, min_length=1, description="name of the environment variable that holds the token"
    )
    token_file: str | None = Field(
        None,
        min_length=1,
        description="file that holds the token, in the boat folder, readable by you alone",
    )


class Sensor(FileModel):
    """One thermometer, or thermometer and hygrometer: by MQTT (topic) or by Signal K (path)."""

    name: str = Field(min_length=1, description="its readings are written under this name")
    space: str = Field(min_length=1, description="name of a space, or 'outdoors'")
    panel: str | None = Field(
        None,
        min_length=1,
        description="the panel it is stuck to: then its temperature is that surface's, "
        "and its humidity is left out",
    )
    topic: str | None = Field(None, min_length=1, description="MQTT topic it reports under")
    humidity_topic: str | None = Field(
        None, min_length=1, description="MQTT topic of its humidity, where that has its own"
    )
    availability_topic: str | None = Field(
        None, min_length=1, description="MQTT topic that says 'online' or 'offline' of it"
    )
    path: str | None = Field(
        None,
        min_length=1,
        description="Signal K path its values stand under, such as 'environment.inside.saloon'",
    )
    source: str | None = Field(
        None,
        min_length=1,
        description="which of several Signal K sources of that path ('$source' on the server), "
        "such as 'i2c.0-76'; else the one heard first",
    )
    temperature_key: str | None = Field(
        None,
        min_length=1,
        description="where the temperature stands in its messages ('air.temp' for a nested one); "
        "else one of the usual names",
    )
    humidity_key: str | None = Field(
        None, min_length=1, description="where the humidity stands; else one of the usual names"
    )
    temperature_unit: Literal["°C", "°F", "C", "F", "K"] | None = Field(
        None, description="else what its messages say; else °C, by Signal K kelvin"
    )
    humidity_unit: Literal["%", "ratio"] | None = Field(
        None, description="else %, by Signal K a share of one ('ratio')"
    )
    every: Duration = Field(
        1.0 / 6.0, description="one reading is kept for so long, more only when it changes"
    )
